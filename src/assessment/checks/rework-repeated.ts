import { type Facts, revisionKey } from '../../dossier/facts.js';
import { revisionSubject } from '../../dossier/signable.js';
import type { ReworkInstruction } from '../../kinds/rework-instruction.js';
import type { ClaimNote } from '../assessment.js';
import { acceptedSince } from '../finding-decisions.js';
import { dispositionOf, type NonconformityOfLot, nonconformitiesOf } from '../nonconformities.js';
import { type Rework, reworksOf, wentThrough } from '../reworks.js';
import { approvalOf, isGood, standingOf, unapproved } from '../signed.js';
import { currentResults, unitsOfSpecimen } from '../specimens.js';
import { allUnits, type Check, isAfter, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** What was done to one implant by one instruction, in whatever revisions. */
interface Reworked {
  readonly unit: string;
  readonly steps: readonly Rework[];
  /** As its last step names it. */
  readonly instruction: ReworkInstruction;
}

/** ISO 13485:2016 8.3.4 (docs/trade.md 4.8). */
export const reworkRepeated: Check = {
  code: 'rework-repeated',
  since: 1,
  clause: 'ISO 13485:2016 8.3.4',
  moment: 'release',
  run(facts) {
    const reworks = reworksOf(facts);
    const reports = nonconformitiesOf(facts);
    const reworked = allUnits(facts).flatMap((unit) => reworkedIn(reworks, unit));
    const standings = instructionsUsed(facts, reworks);
    const findings = [
      ...standings.flatMap(({ findings }) => findings),
      ...reworked.flatMap((one) => [
        ...notDecidedBefore(reports, one),
        ...tooOften(one),
        ...notMeasuredAgain(facts, one),
      ]),
      ...reports.flatMap((report) => withoutInstruction(report, reworked)),
    ];
    return {
      findings,
      claims: standings.flatMap(({ claim }) => claim ?? []),
      basis: { units: String(new Set(reworked.map(({ unit }) => unit)).size), steps: String(reworks.length) },
      doesNotApply: reworks.length === 0 && reports.every((report) => unitsToRework(report).length === 0),
    };
  },
};

/** By each instruction that names the implant, in the order of its first step. */
function reworkedIn(reworks: readonly Rework[], unit: string): Reworked[] {
  const codes = new Map<string, Rework[]>();
  for (const rework of reworks) {
    if (!wentThrough(rework.step, unit)) continue;
    const code = rework.step.instruction!.instruction;
    codes.set(code, [...(codes.get(code) ?? []), rework]);
  }
  return [...codes.values()].flatMap((steps) => {
    const instruction = steps.at(-1)!.instruction;
    return instruction ? [{ unit, steps, instruction }] : [];
  });
}

/** Each revision of an instruction as it stood when it was first used, for whatever stands behind the parts. */
function instructionsUsed(facts: Facts, reworks: readonly Rework[]) {
  return [...new Set(reworks.map(({ by }) => by))].map((by): { findings: FindingDraft[]; claim?: ClaimNote } => {
    const own = reworks.filter((rework) => rework.by === by);
    const { at } = own[0]!.step;
    const parts = own.flatMap(({ step }) => step.parts ?? allUnits(facts));
    const common = {
      subjects: [subject('rework-instruction', own[0]!.step.instruction!.instruction)],
      effect: 'cannot be decided' as const,
      units: [...new Set(parts.flatMap((part) => unitsOfSpecimen(facts, part)))],
    };
    const used = facts.reworkInstructions.get(by);
    if (!used) return { findings: [{ ...common, rule: 'instruction not on record', facts: { instruction: by } }] };
    const { effectiveFrom, approval, instruction } = used.body;
    const standing = standingOf(
      facts,
      revisionSubject({ ...used, kind: 'rework-instruction', key: instruction }),
      approval,
    );
    const missing = unapproved(standing, { ...common, facts: { instruction: by } });
    const findings: FindingDraft[] = missing ? [missing] : [];
    if (isAfter(effectiveFrom, at)) {
      const told = { instruction: by, effectiveFrom, at };
      findings.push({ ...common, rule: 'not yet effective', mayBeDecided: 'concession', facts: told });
    }
    if (!isGood(standing)) return { findings };
    if (isAfter(standing.at, at)) {
      const told = { instruction: by, approvedAt: standing.at, at };
      findings.push({ ...common, rule: 'approved after the work', mayBeDecided: 'concession', facts: told });
    }
    return { findings, claim: approvalOf('rework-instruction', by, standing) };
  });
}

const finding = (
  { unit, instruction }: Reworked,
  rule: string,
  more: Pick<FindingDraft, 'mayBeDecided'> & { readonly facts?: FindingDraft['facts'] },
): FindingDraft => ({
  rule,
  subjects: [subject('implant', unit), subject('rework-instruction', instruction.instruction)],
  effect: 'cannot be decided',
  units: [unit],
  ...more,
  facts: {
    unit,
    instruction: revisionKey(instruction.instruction, instruction.revision),
    nonconformity: instruction.nonconformity,
    ...more.facts,
  },
});

const isToRework = ({ decided, document }: NonconformityOfLot, unit: string): boolean =>
  decided?.outcome === 'accepted' && dispositionOf(document.body, unit)?.as === 'rework';

const unitsToRework = (report: NonconformityOfLot): string[] => report.units.filter((unit) => isToRework(report, unit));

/** Rework is decided before it is done: nobody reworks first and asks afterwards. */
function notDecidedBefore(reports: readonly NonconformityOfLot[], one: Reworked): FindingDraft[] {
  const { unit, instruction, steps } = one;
  const report = reports.find(({ document }) => document.key === instruction.nonconformity);
  if (report === undefined || !isToRework(report, unit)) {
    return [finding(one, 'not decided as rework', { mayBeDecided: 'no' })];
  }
  const [decidedAt, { at }] = [acceptedSince(report.decided!)!, steps[0]!.step];
  if (!isAfter(decidedAt, at)) return [];
  return [finding(one, 'decided after the work', { mayBeDecided: 'concession', facts: { decidedAt, at } })];
}

/** One time takes each step of the instruction as often as it lists it; a time begun counts, and one left unfinished is told. */
function tooOften(one: Reworked): FindingDraft[] {
  const { steps, instruction } = one;
  const times = [...new Set(instruction.steps.map(({ step }) => step))].map((step) => ({
    step,
    done: steps.filter((rework) => rework.step.step === step).length,
    each: instruction.steps.filter((asked) => asked.step === step).length,
  }));
  const most = Math.max(...times.map(({ done, each }) => Math.ceil(done / each)));
  const left = times.filter(({ done, each }) => done < most * each).map(({ step }) => step);
  const { timesAtMost } = instruction;
  const told = { times: String(most), most: String(timesAtMost) };
  return [
    ...(most > timesAtMost ? [finding(one, 'reworked too often', { mayBeDecided: 'concession', facts: told })] : []),
    ...(left.length > 0
      ? [finding(one, 'step left out', { mayBeDecided: 'concession', facts: { lacks: left.join(', ') } })]
      : []),
  ];
}

/** What it disturbs is missing among the results by itself; what is only measured again is asked for here. */
function notMeasuredAgain(facts: Facts, one: Reworked): FindingDraft[] {
  const { unit, steps, instruction } = one;
  const since = steps.at(-1)!.step.at;
  const planned = new Set(facts.specification.body.characteristics.map(({ characteristic }) => characteristic));
  const lacks = instruction.repeat
    .filter((characteristic) => !(instruction.disturbs.includes(characteristic) && planned.has(characteristic)))
    .filter(
      (characteristic) =>
        !currentResults(facts).some(
          (row) =>
            row.characteristic === characteristic &&
            !isAfter(since, row.measuredAt) &&
            (row.specimen === unit || unitsOfSpecimen(facts, row.specimen).includes(unit)),
        ),
    );
  const told = { characteristics: lacks.join(', '), at: since };
  return lacks.length === 0 ? [] : [finding(one, 'not measured again', { mayBeDecided: 'concession', facts: told })];
}

/** What was decided to be reworked, and no step says that it was. */
const withoutInstruction = (report: NonconformityOfLot, reworked: readonly Reworked[]): FindingDraft[] =>
  unitsToRework(report)
    .filter(
      (unit) => !reworked.some((one) => one.unit === unit && one.instruction.nonconformity === report.document.key),
    )
    .map((unit) => ({
      rule: 'no rework by an instruction',
      subjects: [subject('implant', unit), subject('nonconformity', report.document.key)],
      facts: { unit, nonconformity: report.document.key },
      effect: 'cannot be decided',
      units: [unit],
    }));
