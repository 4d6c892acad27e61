import type { Statement } from '../../dossier/statement.js';
import { HEADS } from './heads.js';
import { signedAsText } from './release-steps.js';

/** Titles of pages, which are their names in the window too, and the links that lead back to them. */
export const PAGE_TITLES = {
  lots: 'Lots',
  lot: (lot: string) => `Lot ${lot}`,
  changedVerdicts: (lot: string) => `Changed verdicts: lot ${lot}`,
  findings: (id: string, lot: string) => `Findings ${id} of lot ${lot}`,
  log: (build: string) => `Log of build ${build}`,
  rawRows: (build: string) => `Raw rows of build ${build}`,
  unitAct: (act: string, lot: string) => `${act}: lot ${lot}`,
  signAs: (act: Pick<Statement, 'meaning' | 'step'>) => `Sign as ${signedAsText(act)}`,
  signed: 'Signed',
  authority: 'Authority',
  people: 'People',
  personAct: (act: string, name: string) => `${act}: ${name}`,
  oneTimeLink: (name: string) => `One-time link for ${name}`,
  account: 'Your account',
  signIn: 'Sign in',
  passwordSet: 'Your password is set',
  brokenLink: 'This link does not work',
  choosePassword: 'Choose your password',
  firstAdministrator: 'Make the first administrator',
  intake: 'Take documents in',
  takenIn: 'Taken in',
  checked: 'Checked',
  trace: 'Trace',
  traceOf: (id: string) => `Trace of ${id}`,
  trend: 'Trend',
  trendOf: (characteristic: string, family: string) => `${characteristic} of family ${family}`,
  audit: HEADS.auditTrail,
  protection: 'How this is protected',
  calculations: 'Calculations',
  api: 'Programming interface',
  error: (title: string) => `Error: ${title}`,
};
