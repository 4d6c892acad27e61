import { caseKind } from './case.js';
import { channelMap } from './channel-map.js';
import { equivalenceStudy } from './equivalence-study.js';
import { family } from './family.js';
import { instrument } from './instrument.js';
import type { Kind } from './kind.js';
import { lot } from './lot-document.js';
import { machine } from './machine.js';
import { method } from './method.js';
import { person } from './person.js';
import { powderState } from './powder-state.js';
import { processValidation } from './process-validation.js';
import { programVersion } from './program-version.js';
import { receipt } from './receipt.js';
import { recipe } from './recipe.js';
import { specification } from './specification.js';
import { supplier } from './supplier.js';

/** Every kind of document that intake understands. */
export const KINDS: readonly Kind[] = [
  family,
  caseKind,
  recipe,
  method,
  processValidation,
  equivalenceStudy,
  specification,
  supplier,
  receipt,
  powderState,
  machine,
  channelMap,
  instrument,
  person,
  lot,
  programVersion,
];

export const kindNamed = (name: string): Kind | undefined => KINDS.find((kind) => kind.kind === name);

/** Kinds that have no document of their own: another document or a file brings them into being. */
const DECLARED_TITLES: Readonly<Record<string, string>> = {
  heat: 'heat',
  build: 'build',
  implant: 'implant',
  coupon: 'coupon',
  'result-set': 'result set',
};

/** What people call a kind: `powder state` for `powder-state`. */
export const kindTitle = (name: string): string => kindNamed(name)?.title ?? DECLARED_TITLES[name] ?? name;
