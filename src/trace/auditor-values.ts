import type { Assessment } from '../assessment/assessment.js';
import { counts, type ValueVerdict } from '../assessment/assessment.js';
import { ASSESSMENT_VERSION } from '../base/assessment-version.js';
import { revisionKey } from '../dossier/facts.js';
import { specimenText } from '../dossier/tables.js';
import { spacedUnit } from '../dossier/unit-text.js';
import { partsInside } from '../kinds/split-lot.js';
import { findingWords } from '../report/assessment-words.js';
import { AUDITOR_ANSWERS } from '../report/phrases/auditor-questions.js';
import { notReadText } from '../report/phrases/impact.js';
import { type AskedByAuditor, inOrder, lotsInOrder, lotsWithin, type Rows, signedOnRevision } from './auditor-asked.js';
import { type NotRead, saidNow } from './lot-twice.js';

/** What auditors ask of values, and of whoever and whatever stands behind them. */

/** Each value that was measured in the period, with the file in which it came: the raw file behind a number. */
export async function values(asked: AskedByAuditor): Promise<Rows> {
  const rows: string[][] = [];
  for (const { lot } of await lotsInOrder(asked.store)) {
    for (const row of await asked.store.read.results.current(lot)) {
      if (!asked.within(row.measuredAt)) continue;
      rows.push([
        ...[lot, specimenText(row), `${row.characteristic} ${row.replicate}`, `${row.value}${spacedUnit(row.ucum)}`],
        ...[row.measuredAt, row.instrument, row.analyst, row.evidence, String(row.line)],
      ]);
    }
  }
  return rows;
}

/** Values measured in the period that do not conform, and those that others replaced, with what became of them. */
export async function failed(asked: AskedByAuditor): Promise<Rows> {
  const { read } = asked.store;
  const opened = await nonconformitiesByPart(asked);
  const unsaid = await saidByNobody(asked);
  const rows: string[][] = [];
  for (const lot of await lotsInOrder(asked.store)) {
    const measured = (await read.results.ofLot(lot.lot)).rows.filter(({ measuredAt }) => asked.within(measuredAt));
    if (measured.length === 0) continue;
    const said = unsaid.has(lot.lot) ? await assessedNow(asked, lot.lot) : await failedBefore(asked, lot.lot);
    if (said !== undefined && 'why' in said) rows.push(notSaid(lot.lot, measured[0]!.measuredAt, said));
    const verdicts = said === undefined || 'why' in said ? [] : failedIn(said);
    for (const row of measured) {
      const isCorrected = row.status === 'corrected';
      const own = verdicts.find(
        ({ characteristic, value }) => characteristic === row.characteristic && isOf(value, row),
      );
      if (!isCorrected && own === undefined) continue;
      const standsFor = lot.coupons.find(({ coupon }) => coupon === row.specimen)?.standsFor ?? [];
      const touching = [row.specimen, ...standsFor].flatMap((part) => opened.get(part) ?? []);
      rows.push([
        ...[
          lot.lot,
          specimenText(row),
          `${row.characteristic} ${row.replicate}`,
          `${row.value}${spacedUnit(row.ucum)}`,
        ],
        row.measuredAt,
        isCorrected ? AUDITOR_ANSWERS.corrected : AUDITOR_ANSWERS.failedAs[own!.value.role],
        [...new Set(touching)].join(' '),
        row.evidence,
      ]);
    }
  }
  return rows;
}

type Row = { readonly specimen: string; readonly piece: string; readonly replicate: string; readonly status: string };
const isOf = (value: ValueVerdict, row: Row): boolean =>
  row.status === 'current' &&
  value.specimen === row.specimen &&
  value.piece === row.piece &&
  String(value.replicate) === row.replicate;

const failedIn = ({ characteristics }: Pick<Assessment, 'characteristics'>) =>
  characteristics.flatMap(({ characteristic, values: all }) =>
    all
      .filter((value) => value.verdict === 'does not conform' || !counts(value))
      .map((value) => ({ characteristic, value })),
  );

/** Most lots have none, and their assessments are not read. */
async function failedBefore(
  { store, current }: AskedByAuditor,
  lot: string,
): Promise<Assessment | NotRead | undefined> {
  const { body = '' } = (await store.read.assessments.current(ASSESSMENT_VERSION, lot)) ?? {};
  if (!/"(?:does not conform|invalid test|reworked)"/.test(body)) return undefined;
  return (await current.assessmentOf(lot))?.assessment ?? { why: 'assessment not readable' };
}

async function nonconformitiesByPart({ store }: AskedByAuditor): Promise<ReadonlyMap<string, string[]>> {
  const found = new Map<string, string[]>();
  for (const { body } of await store.read.entries.list('nonconformity')) {
    for (const { key } of body.touches) found.set(key, [...(found.get(key) ?? []), body.nonconformity]);
  }
  return found;
}

/** For which implants each coupon speaks, by which study, and who had approved that. */
export async function coupons(asked: AskedByAuditor): Promise<Rows> {
  const rows: string[][] = [];
  for (const lot of await lotsWithin(asked)) {
    for (const { coupon, standsFor, study, rationale } of partsInside(lot).coupons) {
      const signed =
        study === undefined
          ? []
          : await signedOnRevision(asked.store.read, 'equivalence-study', study.study, study.revision);
      const approved = signed.filter(({ meaning }) => meaning === 'approved');
      rows.push([
        ...[coupon, lot.lot, standsFor.join(' ')],
        study === undefined ? AUDITOR_ANSWERS.noStudy : revisionKey(study.study, study.revision),
        approved.map(({ person, at }) => AUDITOR_ANSWERS.approvedBy(person.code, at.slice(0, 10))).join('; ') ||
          AUDITOR_ANSWERS.nobody,
        rationale,
      ]);
    }
  }
  return rows;
}

const OF_QUALIFICATION = ['operators-qualified', 'testers-qualified'];

/** Each in the sentence of its finding. Whoever decides, reviews and releases is asked for their training as they sign. */
export async function unqualified(asked: AskedByAuditor): Promise<Rows> {
  const stored = [...(await asked.current.units())];
  const now = new Map<string, Assessment | NotRead>();
  for (const lot of await saidByNobody(asked)) now.set(lot, await assessedNow(asked, lot));
  const rows: string[][] = [];
  const add = (lot: string, checks: Pick<Assessment['checks'][number], 'code' | 'findings'>[]) => {
    for (const { code, findings } of checks.filter((check) => OF_QUALIFICATION.includes(check.code))) {
      for (const finding of findings.filter(({ facts }) => asked.within(facts.day ?? ''))) {
        const { day = '', person = '', workOn = '' } = finding.facts;
        rows.push([day, person, findingWords(code, finding).says, workOn, lot, finding.units.join(' ')]);
      }
    }
  };
  for (const [lot, { checks }] of stored) if (!now.has(lot)) add(lot, [...checks]);
  for (const [lot, said] of now) {
    if ('why' in said) rows.push(['', '', AUDITOR_ANSWERS.notAssessed(notReadText(said.why)), '', lot, '']);
    else add(lot, said.checks);
  }
  return inOrder(rows);
}

const notSaid = (lot: string, at: string, { why }: NotRead): string[] => [
  ...[lot, '', '', '', at, AUDITOR_ANSWERS.notAssessed(notReadText(why)), '', ''],
];

/** Lots of which nothing on record says what the rules say: nobody assessed them, more came in since, or it was said in a form of earlier days. */
async function saidByNobody({ overview }: AskedByAuditor): Promise<ReadonlySet<string>> {
  const found = new Set<string>();
  for (const { lot, assessed, outOfDate, ofEarlierVersion, units } of await overview.list()) {
    const isReadable = !ofEarlierVersion || units.some(({ verdict }) => verdict !== 'not assessed');
    if (assessed && !outOfDate && isReadable) continue;
    found.add(lot);
  }
  return found;
}

/** What the rules say of a lot as it stands. */
async function assessedNow({ store }: AskedByAuditor, lot: string): Promise<Assessment | NotRead> {
  const said = await saidNow(store, lot);
  return 'why' in said ? said : said.first;
}
