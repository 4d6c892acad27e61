import { builtDesigns } from '../assessment/built-designs.js';
import { doersAmong, type PartInLot, partsBy, partsInLot } from '../assessment/parts-in-lot.js';
import type { Facts } from '../dossier/facts.js';
import { covers, type SignedSubject, type Statement } from '../dossier/statement.js';
import { actOf } from '../people/acts.js';
import type { Doers } from '../people/authority.js';
import type { TestedRule } from '../report/phrases/parts-in-lot.js';
import type { RecordView } from './record-view.js';
import { signaturesOf } from './signatures.js';

type Shown = Pick<RecordView, 'facts' | 'enclosure'>;

/**
 * Whether the rules of independence of an act held for who signed it, by the one table of authority and by what the lot
 * file and the statements of the record say.
 */
export function independenceOf(shown: Shown, statement: Statement): TestedRule[] {
  const { meaning, subjects, person } = statement;
  const rules = actOf(meaning, subjects[0]!.kind)?.independence ?? [];
  const doers = subjects.map((subject) => doersOf(shown, statement, subject));
  return rules.map((rule) => ({ rule, holds: doers.every((one) => !one[rule]?.includes(person.code)) }));
}

function doersOf({ facts, enclosure }: Shown, statement: Statement, { kind, key, digest }: SignedSubject): Doers {
  const before = signaturesOf({ facts, enclosure })
    .map((signed) => signed.statement)
    .filter((one) => Date.parse(one.at) < Date.parse(statement.at) && covers(one, digest));
  const by = (meaning: Statement['meaning']) =>
    before.filter((one) => one.meaning === meaning).map(({ person }) => person.code);
  return {
    author: by('performed'),
    decided: by('decided'),
    reviewer: by('reviewed'),
    self: kind === 'qualification' ? [key.slice(0, key.indexOf(':'))] : [],
    enterer: entererOf(facts, key),
    runner: runnerOf(facts, key),
    preparer: preparersOf(facts, key),
    transcriber: transcriberOf(facts, key),
    typist: typistsOf(facts, key),
    ...doersAmong(partsInLot(facts)),
  };
}

function entererOf(facts: Facts, key: string): string[] {
  const found = builtDesigns(facts).find(({ acceptance }) => acceptance?.key === key);
  return found ? [found.acceptance!.body.enteredBy] : [];
}

function runnerOf({ loads }: Facts, key: string): string[] {
  const load = loads.get(key);
  return load ? [load.body.by] : [];
}

const preparersOf = ({ stockParts }: Facts, key: string): string[] =>
  (stockParts.get(key)?.body.interface.prepared ?? []).map(({ by }) => by);

function transcriberOf({ receipts }: Facts, key: string): string[] {
  const certificate = receipts.get(key)?.body.certificate;
  return certificate ? [certificate.transcribedBy] : [];
}

function typistsOf({ resultSets, results }: Facts, key: string): string[] {
  const sheet = [...resultSets.values()].find((item) => item.key === key);
  return sheet ? results.filter((row) => row.evidence === sheet.body.evidence).map(({ enteredBy }) => enteredBy) : [];
}

/** Parts that whoever signed a statement had in the lot, but for that act itself. */
export const otherPartsOf = ({ facts }: Shown, { person, meaning, subjects }: Statement): PartInLot[] =>
  partsBy(facts, person.code).filter(
    (part) =>
      !(
        part.how === 'signed' &&
        part.did === meaning &&
        subjects.some(({ kind, key }) => part.kind === kind && part.key === key)
      ),
  );
