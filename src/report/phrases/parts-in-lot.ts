import type { Doing, PartInLot } from '../../assessment/parts-in-lot.js';
import { namesText } from '../../dossier/statement.js';
import { INDEPENDENCE, type IndependenceRule } from './authority.js';
import { MEANINGS_IN_WORDS } from './codes.js';
import { kindText } from './kinds.js';
import { stepText } from './trade-codes.js';

/** What a person did, before the name of what they did it to. */
export const DOINGS: Readonly<Record<Doing, string>> = {
  ...MEANINGS_IN_WORDS,
  performed: 'signed as performed',
  measured: 'measured',
  typed: 'typed',
  'values entered by': 'typed the values of',
  'values checked by': 'checked the values of',
  'tested by': 'tested',
  'opened by': 'opened',
  'run by': 'ran',
  'made by': 'made',
  'maintained by': 'maintained',
  'worked on by': 'worked on',
  'cleared by': 'cleared the line for',
  'fate recorded by': 'recorded what became of parts of',
  'labels inspected by': 'inspected labels of',
  'scanned by': 'scanned',
  'asked for by': 'asked for',
  'made ready by': 'made ready the face of',
  'taken off by': 'took metal off',
  'moved by': 'moved units by',
  'verified by': 'verified',
  'evaluated by': 'evaluated',
  'closed by': 'closed',
  'invalid test seen by': 'saw an invalid test of',
  'certificate transcribed by': 'transcribed the certificate of',
  'certificate checked by': 'checked the certificate of',
  'invalid test decided by': 'decided on an invalid test of',
  'decision claimed by': 'decided findings of',
  'acceptance claimed by': 'accepted or rejected',
  'approval claimed by': 'approved',
  'signed by': 'signed',
  'status set by': 'set the status of',
  'received by': 'received',
  'entered by': 'entered',
  'designed by': 'designed',
  'handed over by': 'handed over',
  'taken back by': 'took back',
  'destroyed by': 'destroyed',
  'destruction seen by': 'saw the destruction of',
  'decision made by': 'decided on',
  'reviewed by': 'reviewed',
  'acts on review': 'acts on',
  'validated by': 'validated',
};

/** Words of the table of parts. */
export const PARTS = {
  caption:
    'Parts that people had in this lot, as the lot file tells them; who took a file in stands in the audit trail',
  person: 'Person',
  parts: 'Parts',
  signed: (things: number) => `signed ${things === 1 ? '1 thing' : `${things} things`}, named above`,
  claimed: (part: string) => `${part} (claimed, not signed)`,
  deputy: (part: string, codes: string) => `${part} (as deputy for ${codes})`,
};

const nameOf = (key: string): string => (/^[0-9a-f]{64}$/.test(key) ? key.slice(0, 12) : key);

/** `ran build M1-101`, `measured 4 results`, `approved test method TM-1, TM-2, TM-3 and 2 more`. */
export function partText(did: Doing, kind: string, keys: readonly string[]): string {
  const doing = Object.hasOwn(DOINGS, did) ? DOINGS[did] : did;
  if (kind === 'result') return `${doing} ${keys.length} result${keys.length === 1 ? '' : 's'}`;
  const once = [...new Set(keys)];
  if (kind === 'step') return `did ${once.map(stepText).join(', ')}`;
  return `${doing} ${kindText(kind)} ${namesText(once.map(nameOf))}`;
}

/** Every part of one person, alike ones together, in the order of the lot file. */
export function partTexts(parts: readonly PartInLot[]): string[] {
  const groups = new Map<string, PartInLot[]>();
  for (const part of parts) {
    const name = `${part.how} ${part.did} ${part.kind} ${part.deputyFor}`;
    groups.set(name, [...(groups.get(name) ?? []), part]);
  }
  return [...groups.values()].map((own) => {
    const [{ did, kind, how, deputyFor }] = own as [PartInLot];
    const keys = own.map(({ key }) => key);
    const says = partText(did, kind, keys);
    if (how === 'claimed') return PARTS.claimed(says);
    return deputyFor === null ? says : PARTS.deputy(says, deputyFor);
  });
}

export const partsText = (parts: readonly PartInLot[]): string => partTexts(parts).join('; ');

/** What somebody was found to have done that made them dependent. */
const BROKEN: Readonly<Record<IndependenceRule, string>> = {
  author: 'signed the document as its author',
  transcriber: 'transcribed the certificate',
  enterer: 'wrote the acceptance down',
  runner: 'ran the load',
  preparer: 'made the face of the stock part ready',
  self: 'is the person concerned',
  typist: 'typed values of the sheet',
  decided: 'decided this finding before',
  maker: 'performed a build step of this lot',
  tester: 'performed a test of this lot',
  decider: 'decided a finding of this lot',
  reviewer: 'reviewed this lot file',
};

/** One rule of independence, and whether it holds for a statement. */
export interface TestedRule {
  readonly rule: IndependenceRule;
  readonly holds: boolean;
}

/** What independence asked of a signer, and whether the lot file bears it out; what was not asked is not told. */
export function independenceText(tested: readonly TestedRule[]): string {
  if (tested.length === 0) return 'none is asked for';
  const broken = tested.filter(({ holds }) => !holds);
  if (broken.length > 0) return `not as required: ${broken.map(({ rule }) => BROKEN[rule]).join(', ')}`;
  return `${tested.map(({ rule }) => INDEPENDENCE[rule]).join(', ')}: as required`;
}

/**
 * The parts of a signer beside what they sign now, briefly; none is said outright. The table of parts names each thing.
 */
export function otherPartsText(parts: readonly PartInLot[]): string {
  if (parts.length === 0) return 'no other part in this lot';
  const all = new Map<string, PartInLot[]>();
  for (const part of parts) {
    const name = `${part.how === 'claimed'} ${part.did} ${part.kind === 'result'}`;
    all.set(name, [...(all.get(name) ?? []), part]);
  }
  const said = [...all.values()].map((own) => {
    const [{ did, kind, how }] = own as [PartInLot];
    const things = new Set(own.map((part) => `${part.kind} ${part.key}`)).size;
    const one = things === 1 || kind === 'result' || kind === 'step';
    const says = one
      ? partText(
          did,
          kind,
          own.map(({ key }) => key),
        )
      : `${DOINGS[did]} ${things} things`;
    return how === 'claimed' ? PARTS.claimed(says) : says;
  });
  return `also: ${said.join('; ')}`;
}
