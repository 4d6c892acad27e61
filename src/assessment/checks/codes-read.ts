import type { Facts } from '../../dossier/facts.js';
import { lawsOfCase } from '../../kinds/laws.js';
import { isNeeded } from '../../kinds/route-needs.js';
import { expiryOf } from '../expiry.js';
import { identified } from '../label-codes.js';
import { allUnits, type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** Codes as the reader gave them, against the lot and its implants: never conceded, since identity is not. */
export const codesRead: Check = {
  code: 'codes-read',
  since: 1,
  clause: '21 CFR 820.45, 820.35(c); Regulation (EU) 2017/745 article 27',
  moment: 'release',
  looksAtCases: true,
  run(facts) {
    const { labels } = facts.lot.body;
    const read = labels?.read;
    const isAsked = [...facts.cases.values()].some(({ body }) => isNeeded('udi', lawsOfCase(facts.family.body, body)));
    const doesNotApply = read === undefined && (!isAsked || labels === undefined);
    const findings =
      read === undefined
        ? doesNotApply
          ? []
          : [finding(facts, 'none read', {})]
        : [...againstAll(facts, read), ...fewerThanInspected(facts, read)];
    return { findings, basis: { codes: String(read?.length ?? 0) }, doesNotApply };
  },
};

const finding = (facts: Facts, rule: string, told: FindingDraft['facts'], units = allUnits(facts)): FindingDraft => ({
  rule,
  subjects: [subject('lot', facts.lot.body.lot)],
  facts: told,
  effect: 'blocks release',
  units,
  ...(rule === 'none read' || rule === 'fewer read than inspected' ? { wantsEvidence: true as const } : {}),
});

/** Whoever inspects a label reads its code: a sample without its codes shows nothing of what the labels carry. */
function fewerThanInspected(facts: Facts, read: readonly string[]): FindingDraft[] {
  const sample = facts.lot.body.labels?.inspected?.sample ?? 0;
  if (read.length >= sample) return [];
  return [finding(facts, 'fewer read than inspected', { codes: String(read.length), sample: String(sample) })];
}

function againstAll(facts: Facts, read: readonly string[]): FindingDraft[] {
  const seen = new Set<string>();
  return read.flatMap((text, index) => {
    const code = String(index + 1);
    const of = identified(facts, text);
    if (of === undefined) return [finding(facts, 'not readable', { code })];
    const { gtin, lot, serial, expiryDay } = of;
    const { udiDi } = facts.family.body;
    if (serial === undefined || !allUnits(facts).includes(serial))
      return [finding(facts, 'no implant of the lot', { code })];
    if (lot !== undefined && lot !== facts.lot.body.lot)
      return [finding(facts, 'another lot', { code, unit: serial }, [serial])];
    if (gtin !== undefined && gtin !== udiDi)
      return [finding(facts, 'another device', { code, unit: serial }, [serial])];
    if (gtin === undefined && udiDi !== undefined)
      return [finding(facts, 'no device identifier', { code, unit: serial }, [serial])];
    const implant = facts.lot.body.implants.find((one) => one.serial === serial)!;
    // A serial alone, as a label without a UDI has it, tells no day.
    if (gtin !== undefined && expiryDay !== expiryOf(facts, implant)?.day)
      return [finding(facts, 'another expiry', { code, unit: serial }, [serial])];
    if (seen.has(serial)) return [finding(facts, 'read twice', { code, unit: serial }, [serial])];
    seen.add(serial);
    return [];
  });
}
