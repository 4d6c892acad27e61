import type { ComputedClaim } from '../../design-history/claims.js';
import type { DesignIndex } from '../../design-history/design-index.js';
import type { DesignTemplate } from '../../report/design-template.js';
import type { GapAnswered } from '../design-answer.js';
import type { DesignContent } from './content.js';
import type { DesignEnclosure } from './enclosure.js';

/** What is drawn. */
export interface DesignPaperView {
  readonly content: DesignContent;
  readonly design: DesignIndex;
  readonly gaps: readonly GapAnswered[];
  /** By the code of the study. */
  readonly claims: ReadonlyMap<string, ComputedClaim>;
  readonly enclosure: DesignEnclosure;
  readonly template: DesignTemplate;
}
