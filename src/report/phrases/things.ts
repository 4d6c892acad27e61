import type { UnitResult } from '../../assessment/assessment.js';
import { ABSENT } from './absent.js';
import { verdictText } from './codes.js';
import { kindText } from './kinds.js';
import { releaseStepText } from './release-steps.js';
import { receiptStatusText } from './trade-codes.js';

/** What things are called where they are signed and where they wait for it. */
export const THINGS = {
  document: ({ kind, key, revision }: { readonly kind: string; readonly key: string; readonly revision: number }) =>
    `${kindText(kind)} ${key} revision ${revision}`,
  receipt: (key: string) => `receipt ${key}`,
  stockPart: (key: string) => `stock part ${key}`,
  receiptDecided: (key: string, status: string) => `receipt ${key}, ${receiptStatusText(status)}`,
  certificate: (number: string, receipt: string) => `certificate ${number} of receipt ${receipt}`,
  certificateOf: (receipt: string) => `certificate of receipt ${receipt}`,
  qualification: (name: string, code: string, operation: string) =>
    `qualification of ${name} (${code}) for ${operation}`,
  training: (name: string, operation: string) => `${name}: ${operation}`,
  resultSheet: (lot: string, file: string) => `results of lot ${lot} in ${file}`,
  measured: (analyst: string, file: string) => `results of ${analyst} in ${file}`,
  typed: (typists: readonly string[], file: string) => `values typed by ${typists.join(', ')} in ${file}`,
  logFinding: (finding: string, build: string) => `log finding ${finding} of ${build}`,
  logFindings: (count: number, finding: string, build: string) =>
    `${count} log findings ${finding} of ${build}, all alike`,
  alike: (first: string, count: number) => `${first}, ${count} alike`,
  checkFinding: (finding: string, lot: string) => `finding ${finding} of a release check of lot ${lot}`,
  statement: (serial: string, lot: string) => `statement of the custom-made device ${serial}, lot ${lot}`,
  capability: (key: string, number: number | null) => `capability statement ${number ?? ''} of ${key}`,
  disposition: (key: string) => `what becomes of what nonconformity ${key} touches`,
  closureOf: 'closure of nonconformity',
  closure: (key: string) => `closure of nonconformity ${key}`,
  lotFile: (lot: string) => `lot file of ${lot}`,
  lot: (lot: string) => `lot ${lot}`,
  units: (serials: readonly string[]) => `units ${serials.join(', ')}`,
  unitsHeldBack: (serials: readonly string[]) => `units ${serials.join(', ')}, which may not be released`,
} as const;

/** Why a lot file has to be frozen and assessed again before anybody signs it. */
export const FACTS_SINCE = 'Facts came in since this lot file was frozen.';

/** Names of what is shown of a thing before it is signed, and what stands where there is none of it. */
export const SHOWN = {
  name: 'name',
  takenIn: 'taken in',
  material: 'material',
  certified: ({ value, ucum, line }: Certified) =>
    line === undefined ? `${value} ${ucum}` : `${value} ${ucum}, line ${line} of the file`,
  supplied: ({ material, supplierLot, supplier }: Supplied) => `${material}, lot ${supplierLot} of ${supplier}`,
  status: 'status',
  heats: 'heats',
  expiry: 'may be used until',
  toSpecification: 'to material specification',
  labelLot: 'lot on the label',
  state: 'powder',
  container: 'container',
  containerSays: ({ sealed, desiccantTouches }: Container) =>
    `seal ${sealed === 'yes' ? 'whole' : 'NOT whole'}, desiccant ${desiccantTouches === 'yes' ? 'IN the powder' : 'apart from the powder'}`,
  transcribedBy: 'transcribed by',
  noCertificate: ABSENT.noCertificate,
  operation: 'operation',
  from: 'from',
  to: 'to',
  noEnd: ABSENT.noEnd,
  evidence: 'evidence',
  noEvidence: ABSENT.noneNamed,
  values: 'values',
  analysts: 'analysts',
  typedBy: 'typed by',
  nobodyTyped: 'nobody: read from an instrument',
  instruments: 'instruments',
  and: 'and',
  more: (count: number) => `${count} more`,
  findings: 'findings',
  together: (count: number) => `${count}, decided together`,
  what: 'what',
  effect: 'what it does',
  clearedBy: 'cleared by',
  implants: 'implants',
  coupons: 'coupons',
  none: ABSENT.none,
  level: 'level',
  where: 'where',
  unit: ({ verdict, releasableFor }: Pick<UnitResult, 'verdict' | 'releasableFor'>) =>
    `${verdictText(verdict)}${releasableFor.length > 0 ? `; nothing keeps it from ${releasableFor.map(releaseStepText).join(' or ')}` : ''}`,
} as const;

/** The same of a nonconformity. */
export const IMPACT_SHOWN = {
  cause: 'what was found off',
  time: 'used in that time',
  bias: 'by how much it was off',
  uncertainty: 'standard uncertainty',
  results: 'results that rest on it',
  conclusion: 'conclusion',
} as const;

export const RISK_BUILD_SHOWN = {
  build: 'build that would begin',
  implants: 'stay on hold until the certificate is accepted',
  why: 'why it cannot wait',
  asked: 'asked for by',
} as const;

export const NONCONFORMITY_SHOWN = {
  says: 'what is not as it must be',
  touches: 'touches',
  cause: 'cause',
  riskFile: 'risk file changes',
  none: ABSENT.none,
  becomes: (as: string, clause: string | undefined, justification: string) =>
    `${as}${clause === undefined ? '' : ` by ${clause}`}: ${justification}`,
  closure: 'closed',
} as const;

interface Container {
  readonly sealed: 'yes' | 'no';
  readonly desiccantTouches: 'yes' | 'no';
}

interface Supplied {
  readonly material: string;
  readonly supplierLot: string;
  readonly supplier: string;
}

/** Names of what is shown of a stock part. */
export const STOCK_SHOWN = {
  material: 'material',
  receipt: 'came with receipt',
  implant: 'was implant',
  why: 'why it is built on',
  mesh: 'its surface',
  face: 'face and how it is made ready',
  roughness: 'roughness of the face',
  prepared: 'made ready by',
  takenOff: 'taken off again',
};

interface Certified {
  readonly value: string;
  readonly ucum: string;
  /** Of the file, where a profile read it. */
  readonly line?: number | undefined;
}
