import { readTemplate, type TemplateForm, type TemplateOf } from './record-template.js';

/** Sections of the file of a design. A template puts them in order and gives them titles; it leaves none out. */
export const DESIGN_SECTIONS = [
  'gaps',
  'scope',
  'plan',
  'needs',
  'outputs',
  'matrix',
  'risks',
  'verification',
  'validation',
  'reviews',
  'software',
  'process',
  'materials',
  'biological',
  'degradation',
  'packaging',
  'labelling',
  'transfer',
  'changes',
  'clauses',
  'device-file',
  'baselines',
  'lots',
  'attachments',
  'signatures',
  'proof',
  'cautions',
] as const;
export type DesignSection = (typeof DESIGN_SECTIONS)[number];

export const DESIGN_CAUTIONS = [
  'clinical',
  'bench',
  'statistics',
  'coupons',
  'ranges',
  'clauses',
  'signatures',
  'unaltered',
  'undecided',
  'copies',
] as const;

/** Names of the templates, each with its sections in an order of its own. */
export const DESIGN_ORDERS = ['design-history', 'design-annex-ii'] as const;
export type DesignOrder = (typeof DESIGN_ORDERS)[number];

export type DesignTemplate = TemplateOf<DesignSection, (typeof DESIGN_CAUTIONS)[number]>;

const formOf = (template: DesignOrder): TemplateForm<DesignSection, (typeof DESIGN_CAUTIONS)[number]> => ({
  template,
  sections: DESIGN_SECTIONS as unknown as [DesignSection, ...DesignSection[]],
  cautions: DESIGN_CAUTIONS,
});

/** @throws BadInputError as `readTemplate`. */
export const parseDesignTemplate = (order: DesignOrder, text: string, file: string): DesignTemplate =>
  readTemplate(formOf(order), text, file);
