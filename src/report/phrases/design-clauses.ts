import type { KindName } from '../../kinds/catalogue.js';
import type { DesignSection } from '../design-template.js';

/** How number and contents of a clause are known: from memory, or as a public text quotes or tells them. */
export type ClauseMark = 'from memory' | 'as public texts quote it';

/** A clause, what it is about and what it asks for in our own words, and where the file of a design answers it. */
export interface ClauseRow {
  readonly clause: string;
  readonly title: string;
  readonly mark: ClauseMark;
  readonly asks: string;
  readonly sections: readonly DesignSection[];
  /** Documents that answer it by what they are, so that their number tells something; none where no number does. */
  readonly kinds: readonly KindName[];
}

export const CLAUSES: readonly ClauseRow[] = [
  {
    clause: 'ISO 13485:2016 4.2.3',
    title: 'the file of a type of device',
    mark: 'as public texts quote it',
    asks: 'a file for each type of device, which holds or points at what it is made, tested and labelled by',
    sections: ['device-file'],
    kinds: ['specification', 'recipe', 'method'],
  },
  {
    clause: 'ISO 13485:2016 4.2.4',
    title: 'control of documents',
    mark: 'as public texts quote it',
    asks: 'documents are approved before they are used, show their revision, and none that is superseded is used',
    sections: ['signatures', 'device-file'],
    kinds: [],
  },
  {
    clause: 'ISO 13485:2016 7.3.2',
    title: 'planning of the design',
    mark: 'from memory',
    asks: 'design is planned: stages, reviews, responsibilities, and how inputs lead to outputs',
    sections: ['plan'],
    kinds: ['design-plan'],
  },
  {
    clause: 'ISO 13485:2016 7.3.3',
    title: 'inputs of the design',
    mark: 'from memory',
    asks: 'what the design has to do is written down, complete, and can be tested',
    sections: ['needs'],
    kinds: ['user-need', 'design-input'],
  },
  {
    clause: 'ISO 13485:2016 7.3.4',
    title: 'outputs of the design',
    mark: 'from memory',
    asks: 'what the design gives answers its inputs, and says when it is accepted',
    sections: ['outputs'],
    kinds: ['design-output'],
  },
  {
    clause: 'ISO 13485:2016 7.3.5',
    title: 'review of the design',
    mark: 'from memory',
    asks: 'stages are reviewed, by somebody too who is not responsible for what is reviewed, and actions are followed',
    sections: ['reviews'],
    kinds: ['design-review'],
  },
  {
    clause: 'ISO 13485:2016 7.3.6',
    title: 'verification of the design',
    mark: 'from memory',
    asks: 'outputs are shown to meet inputs, by a plan with methods, criteria and a reasoned number of samples',
    sections: ['verification', 'matrix'],
    kinds: ['design-study'],
  },
  {
    clause: 'ISO 13485:2016 7.3.7',
    title: 'validation of the design',
    mark: 'from memory',
    asks: 'the device is shown to meet the needs of its use, on units as they are made',
    sections: ['validation', 'matrix'],
    kinds: ['design-study'],
  },
  {
    clause: 'ISO 13485:2016 7.3.8',
    title: 'transfer into manufacture',
    mark: 'from memory',
    asks: 'outputs are shown to be fit for manufacture before they are its specifications',
    sections: ['transfer', 'process'],
    kinds: ['design-transfer', 'process-validation'],
  },
  {
    clause: 'ISO 13485:2016 7.3.9',
    title: 'changes of the design',
    mark: 'from memory',
    asks: 'changes are judged for what they touch, verified and approved before they are made',
    sections: ['changes'],
    kinds: ['design-change'],
  },
  {
    clause: 'ISO 13485:2016 7.3.10',
    title: 'file of design and development',
    mark: 'from memory',
    asks: 'a design and development file for each type or family of devices',
    sections: ['baselines', 'attachments'],
    kinds: ['baseline'],
  },
  {
    clause: 'ISO 13485:2016 7.4.1',
    title: 'purchasing and suppliers',
    mark: 'as public texts quote it',
    asks: 'suppliers are judged and approved by what their material means for the device',
    sections: ['materials'],
    kinds: ['supplier'],
  },
  {
    clause: 'ISO 13485:2016 7.5.6',
    title: 'validation of processes',
    mark: 'from memory',
    asks: 'processes whose result no later test shows are validated, and again when something changed',
    sections: ['process'],
    kinds: ['process-validation'],
  },
  {
    clause: 'ISO 13485:2016 7.5.11',
    title: 'keeping product as it was made',
    mark: 'from memory',
    asks: 'product is kept from change until it is used, by its pack, and for as long as its shelf life is shown',
    sections: ['packaging'],
    kinds: [],
  },
  {
    clause: 'ISO 14971:2019 4.5',
    title: 'file of risk management',
    mark: 'from memory',
    asks: 'a risk management file from hazard to control and its verification',
    sections: ['risks', 'matrix'],
    kinds: ['hazard', 'risk-control'],
  },
  {
    clause: '21 CFR 820 (from 2026-02-02)',
    title: 'quality system regulation of the United States',
    mark: 'as public texts quote it',
    asks: 'the quality system of ISO 13485, so that the design and development file is that of 7.3.10',
    sections: ['scope', 'matrix'],
    kinds: [],
  },
  {
    clause: '21 CFR 11.50 and 11.70',
    title: 'what signatures show, and how they are tied to records',
    mark: 'from memory',
    asks: 'signatures show name, time and meaning, and are tied to what was signed',
    sections: ['signatures', 'proof'],
    kinds: [],
  },
  {
    clause: 'Regulation (EU) 2017/745 Annex II 1 to 6',
    title: 'technical documentation',
    mark: 'from memory',
    asks: 'technical documentation: device, information with it, design and manufacture, requirements, risks, verification',
    sections: ['scope', 'labelling', 'outputs', 'risks', 'verification', 'biological'],
    kinds: ['family', 'labelling-decision', 'design-output', 'risk-control', 'design-study'],
  },
  {
    clause: 'Regulation (EU) 2017/745 Annex III',
    title: 'technical documentation after devices left',
    mark: 'from memory',
    asks: 'what is learnt after devices left: lots made, and what changed since',
    sections: ['lots', 'changes'],
    kinds: ['design-change'],
  },
  {
    clause: 'Regulation (EU) 2017/745 Annex XIII 2',
    title: 'documentation of custom-made devices',
    mark: 'as public texts quote it',
    asks: 'for custom-made devices: documents by which design, manufacture and performance can be understood',
    sections: ['scope', 'outputs', 'process'],
    kinds: ['design-envelope', 'design-output', 'process-validation'],
  },
];
