import { gasUses } from '../assessment/gas-uses.js';
import type { Facts } from '../dossier/facts.js';
import type { SignedStatement, Statement } from '../dossier/statement.js';
import { textMetric } from '../pdf/shaping.js';
import { type Happening, happenings } from './charts/happenings.js';
import type { LotFigure } from './lot-figure.js';
import { GAS_ROWS } from './phrases/gas-rows.js';
import { LOT_TIMELINE } from './phrases/lot-timeline.js';
import { stepText } from './phrases/trade-codes.js';
import { eventActText } from './phrases/trail-acts.js';

/** What lay over the lot, such as a hold. */
interface State {
  readonly what: Parameters<typeof eventActText>[0];
  readonly units: readonly string[];
  readonly at: string;
}

interface Shown {
  readonly facts: Facts;
  /** Statements on the lot file. */
  readonly signatures: readonly SignedStatement[];
  readonly states: readonly State[];
  readonly isTold: (part: string) => boolean;
}

interface Happened {
  readonly label: string;
  readonly from: string;
  readonly to: string;
  /** First and last recording; left out where only a later revision of the document is in the lot file. */
  readonly recorded?: readonly [string, string];
  /** What comes from elsewhere is recorded when it is known: a gap is told and is no late entry. */
  readonly fromElsewhere?: true;
}

/** So many rows fit on a page. */
const MOST_ROWS = 40;
const DAY_MS = 24 * 3600 * 1000;

/** Everything from the prescription to the release in the order of its happening, on as many pictures as it needs. */
export function timelineFigures(shown: Shown): LotFigure[] {
  const all = happenedIn(shown).sort((a, b) => Date.parse(a.from) - Date.parse(b.from));
  const figures: LotFigure[] = [];
  for (let at = 0; at < all.length; at += MOST_ROWS) {
    const rows = all.slice(at, at + MOST_ROWS).map(rowOf);
    const late = rows.filter((row) => row.late).length;
    figures.push({
      scene: happenings(rows, { axis: LOT_TIMELINE.axis, notes: [LOT_TIMELINE.key] }, textMetric),
      alt: LOT_TIMELINE.alt(rows.length, late),
      caption: LOT_TIMELINE.caption,
    });
  }
  return figures;
}

function rowOf({ label, from, to, recorded, fromElsewhere }: Happened): Happening {
  const gapMs = recorded ? Date.parse(recorded[1]) - Date.parse(to) : 0;
  const gapDays = gapMs > DAY_MS ? gapMs / DAY_MS : 0;
  const late = gapDays > 0 && fromElsewhere !== true;
  return {
    label,
    from: Date.parse(from),
    to: Date.parse(to),
    ...(recorded ? { recordedFrom: Date.parse(recorded[0]), recordedTo: Date.parse(recorded[1]) } : {}),
    says: LOT_TIMELINE.at(minuteOf(from), gapDays, late),
    late,
  };
}

/** In UTC, to the minute. */
const minuteOf = (moment: string): string => new Date(Date.parse(moment)).toISOString().slice(0, 16).replace('T', ' ');

function happenedIn({ facts, signatures, states, isTold }: Shown): Happened[] {
  const { lot, dossier } = facts;
  const moment = (label: string, at: string, recorded?: string): Happened => ({
    label,
    from: at,
    to: at,
    ...(recorded === undefined ? {} : { recorded: [recorded, recorded] as const }),
  });
  const recordedOf = ({ revision, recordedAt }: { revision: number; recordedAt: string }) =>
    revision === 1 ? recordedAt : undefined;
  const cases = [...facts.cases.values()].filter(({ body }) =>
    lot.body.implants.some((implant) => implant.case === body.case && isTold(implant.serial)),
  );
  const prescribed = cases.map((found) => ({
    ...moment(LOT_TIMELINE.prescribed(found.body.case), found.body.prescription.at, recordedOf(found)),
    fromElsewhere: true as const,
  }));
  const late = new Map(facts.lateFacts.map((fact) => [`${fact.what} ${fact.key}`, fact.recordedAt]));
  const start = Math.min(Date.parse(lot.body.opened.at), ...prescribed.map(({ from }) => Date.parse(from)));
  const since = (at: string) => Date.parse(at) >= start;
  return [
    ...prescribed,
    { ...moment(LOT_TIMELINE.opened, lot.body.opened.at, recordedOf(lot)), fromElsewhere: true },
    ...[...facts.powderStates.values()]
      .filter(({ body }) => since(body.madeAt))
      .map((state) => moment(LOT_TIMELINE.powder(state.body.state), state.body.madeAt, recordedOf(state))),
    ...lot.body.builds.map(({ build, closedAt, openedAt }): Happened => {
      const recorded = late.get(`build ${build}`) ?? recordedOf(lot);
      return {
        label: LOT_TIMELINE.build(build),
        from: closedAt,
        to: openedAt,
        ...(recorded === undefined ? {} : { recorded: [recorded, recorded] as const }),
      };
    }),
    ...lot.body.builds.flatMap((build) =>
      gasUses(build)
        .filter(({ isChange }) => isChange)
        .map(({ receipt, bottle, from }) =>
          moment(
            LOT_TIMELINE.gas(GAS_ROWS.changed(receipt, bottle), build.build),
            from,
            late.get(`build ${build.build}`) ?? recordedOf(lot),
          ),
        ),
    ),
    ...lot.body.steps
      .filter(({ parts }) => parts === undefined || parts.some(isTold))
      .map(({ step, at }) =>
        moment(LOT_TIMELINE.step(stepText(step)), at, late.get(`step ${step}`) ?? recordedOf(lot)),
      ),
    ...resultsIn(facts, isTold),
    ...acts(facts.signatures.filter(({ statement }) => since(statement.at))),
    moment(LOT_TIMELINE.frozen, dossier.asOf.at),
    ...acts(signatures),
    ...states.map(({ what, at }) => moment(eventActText(what), at, at)),
  ];
}

/** Results of one file and one day of measuring, however many there are. */
function resultsIn({ results, specification }: Facts, isTold: (part: string) => boolean): Happened[] {
  const groups = new Map<string, { label: string; measured: string[]; recorded: string[] }>();
  const titleOf = (code: string) =>
    specification.body.characteristics.find(({ characteristic }) => characteristic === code)?.title ?? code;
  for (const row of results) {
    if (!isTold(row.specimen)) continue;
    const key = `${row.characteristic}\n${row.measuredAt.slice(0, 10)}`;
    const group = groups.get(key) ?? {
      label: LOT_TIMELINE.measured(titleOf(row.characteristic)),
      measured: [],
      recorded: [],
    };
    groups.set(key, group);
    group.measured.push(row.measuredAt);
    group.recorded.push(row.recordedAt);
  }
  const ends = (moments: readonly string[]): [string, string] => {
    const sorted = [...moments].sort((a, b) => Date.parse(a) - Date.parse(b));
    return [sorted[0]!, sorted.at(-1)!];
  };
  return [...groups.values()].map(({ label, measured, recorded }) => {
    const [from, to] = ends(measured);
    return { label, from, to, recorded: ends(recorded) };
  });
}

/** Statements of one meaning on one kind of thing at one moment, once. */
function acts(signed: readonly SignedStatement[]): Happened[] {
  const groups = new Map<
    string,
    { signed: Pick<Statement, 'meaning' | 'step'>; kind: string; at: string; count: number }
  >();
  for (const { statement } of signed) {
    const { meaning, step, at } = statement;
    const kind = statement.subjects[0]!.kind;
    const key = `${meaning}\n${step}\n${kind}\n${at}`;
    groups.set(key, { signed: { meaning, step }, kind, at, count: (groups.get(key)?.count ?? 0) + 1 });
  }
  return [...groups.values()].map(({ signed: as, kind, at, count }) => ({
    label: LOT_TIMELINE.signed(as, kind, count),
    from: at,
    to: at,
    recorded: [at, at],
  }));
}
