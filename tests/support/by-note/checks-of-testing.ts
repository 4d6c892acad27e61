import { type Acceptance, invalidRows, replacementsOf, testsCalledInvalid } from './acceptance.js';
import { type Carried, digest, digits, grouped, type Json, moment, type Row, unique } from './carried.js';
import type { Asked } from './checks.js';
import { isDestructive, methodOf } from './checks-of-papers.js';
import { decided, implantsOf, implantsOfBuild, logFindings } from './closures.js';
import { mayRelyOn } from './plans.js';
import {
  approvalOf,
  BLOCKS,
  C,
  calibrationFault,
  D,
  FAILS,
  type Found,
  found,
  implantsOfRows,
  unapproved,
  unqualified,
} from './words.js';

const MINUTES = 60_000;
const HOURS = 3_600_000;
const byTime = (rows: readonly Row[]): Row[] => rows.toSorted((a, b) => moment(a.measuredAt!) - moment(b.measuredAt!));

/** Implants on which an accepted impact says that a row has no effect. */
function clearedByImpact(carried: Carried, { instrument, measuredAt }: Row): string[] {
  const within = (at: string, { from, to }: Json) => moment(from) <= moment(at) && moment(at) <= moment(to);
  const impact = carried.allPinned('impact').find(({ digest: revision, body }: Json) => {
    const { cause, results } = body;
    if (decided(carried, revision) !== 'accepted' || !within(measuredAt!, body)) return false;
    if (cause.kind !== 'instrument' || cause.key !== instrument) return false;
    const rows = carried.current.filter((row) => row.instrument === instrument && within(row.measuredAt!, body));
    const texts = rows.map((row) =>
      JSON.stringify([
        ...[row.specimen, row.piece, row.characteristic, row.replicate, row.instrument, row.measuredAt],
        ...[row.reportedValue, row.reportedUcum, row.evidence, row.line],
      ]),
    );
    const own = (results.ofLots ?? []).find(({ lot }: Json) => lot === carried.dossier.lot);
    return own?.sha256 === digest(texts.sort());
  });
  const { decisions = [] } = impact?.body ?? {};
  return decisions.filter(({ as }: Json) => as === 'no effect').map(({ implant }: Json) => implant);
}

/** Times at a place such as `builds[].closedAt`, but for builds that are planned. */
function timesAt(body: Json, place: string): string[] {
  let values: Json[] = [body];
  for (const name of place.split('.')) {
    values = values
      .filter((value) => value !== null && typeof value === 'object' && value.state !== 'planned')
      .flatMap((value) => (name === '*' ? Object.values(value) : (value[name.replace('[]', '')] ?? [])));
  }
  return values;
}

/** Places of times of facts by kind, as the note lists them. */
export function placesOfFacts(note: string): ReadonlyMap<string, readonly string[]> {
  const [, text] = /Times of facts \(events-in-order\)[^:]*: ([\s\S]*?)\.\n\n/.exec(note)!;
  return new Map(
    text!.split(/;\s+/).map((kind) => {
      const [name, places] = kind.split(/:\s+/);
      return [name!, places!.split(/,\s+/)];
    }),
  );
}

const isAhead = (time: string, recordedAt: string): boolean =>
  moment(time.length === 10 ? `${time}T00:00:00+14:00` : time) > moment(recordedAt) + 5 * MINUTES;

function ofTime(carried: Carried, row: Row): Found[] {
  const units = implantsOf(carried, row.specimen!);
  if (isAhead(row.measuredAt!, row.recordedAt!)) return [found('result after its recording', units, D)];
  const part = partOf(carried, row.specimen!);
  if (part === undefined) return [found('specimen of another lot', carried.serials)];
  const build = carried.builds.find((one) => one.build === part.build);
  const isEarly = build !== undefined && moment(row.measuredAt!) < moment(build.closedAt);
  return isEarly ? [found('result before the build', units)] : [];
}

const partOf = ({ implants, coupons }: Carried, code: string): Json =>
  implants.find(({ serial }) => serial === code) ?? coupons.find(({ coupon }) => coupon === code);

function ofDuration(carried: Carried, row: Row, { hours, within }: Json): string | undefined {
  const least = Number(hours) - Number(within ?? 0);
  const most = within === undefined ? Number.POSITIVE_INFINITY : Number(hours) + Number(within);
  const lasted = (from: string) => digits((moment(row.measuredAt!) - moment(from)) / HOURS, 9);
  if (row.startedAt) {
    const time = lasted(row.startedAt);
    return time < least ? 'shorter than the method says' : time > most ? 'longer than the method says' : undefined;
  }
  const build = carried.builds.find((one) => one.build === partOf(carried, row.specimen!)?.build);
  const steps = (carried.lot.steps ?? []).filter(
    ({ parts }: Json) => parts === undefined || parts.includes(row.specimen),
  );
  const times: string[] = [...(build ? [build.openedAt] : []), ...steps.map(({ at }: Json) => at)];
  const before = times.filter((at) => moment(at) <= moment(row.measuredAt!)).map(lasted);
  return before.length > 0 && Math.min(...before) < least ? 'cannot have lasted as long' : 'start not recorded';
}

const closed = (verdicts: readonly Acceptance[]): Acceptance[] => verdicts.filter(({ isOpen }) => !isOpen);

export const CHECKS_OF_TESTING: Readonly<Record<string, Asked>> = {
  'events-in-order': (carried) => {
    const { builds, lot, current, dossier } = carried;
    const at = (one: Json, name: string) => moment(one[name]);
    const latest = Math.max(...builds.map((one) => at(one, 'openedAt')));
    const [first] = builds.toSorted((a, b) => at(a, 'closedAt') - at(b, 'closedAt'));
    const places = placesOfFacts(carried.text('how-to-recompute.txt'));
    const seen = new Set<string>();
    return {
      found: [
        ...builds
          .filter(({ state }) => state === 'planned')
          .map(({ build }) => found('not built yet', implantsOfBuild(carried, build))),
        ...(lot.steps ?? [])
          .filter((step: Json) => moment(step.at) < latest)
          .map(() => found('step before the chamber was opened', carried.serials)),
        ...(lot.splitFrom === undefined && moment(lot.opened.at) > at(first, 'closedAt')
          ? [found('lot opened after its build', implantsOfBuild(carried, first.build), { ...BLOCKS, ...D })]
          : []),
        ...dossier.pinned
          .filter(({ kind, body, recordedAt }: Json) =>
            (places.get(kind) ?? []).some((place) => timesAt(body, place).some((time) => isAhead(time, recordedAt))),
          )
          .map(() => found('fact after its recording', carried.serials, D)),
        ...current.flatMap((row) => ofTime(carried, row)),
        ...current.flatMap((row) => {
          const key = [row.specimen, row.piece, row.characteristic, row.replicate].join(' / ');
          if (!seen.has(key)) {
            seen.add(key);
            return [];
          }
          return [found('two results for one replicate', implantsOf(carried, row.specimen!))];
        }),
      ],
    };
  },

  'methods-in-force': (carried) => {
    const used = grouped(carried.current, ({ method, methodRevision }) => `${method} ${methodRevision}`);
    const known = [...used.values()].filter(([row]) => methodOf(carried, row) !== undefined);
    return {
      found: known.flatMap((rows) => {
        const { digest, key, revision, body } = methodOf(carried, rows[0]);
        const units = implantsOfRows(carried, rows);
        const first = byTime(rows)[0]!.measuredAt!;
        const later = carried.allPinned('method').filter((one) => one.key === key && one.revision > revision);
        const isSuperseded = rows.some(({ measuredAt }) =>
          later.some((one) => moment(one.body.effectiveFrom) <= moment(measuredAt!)),
        );
        const about = { before: first, rule: 'approved after the measurement', units };
        return [
          ...unapproved(approvalOf(carried, digest, body.approval), about, C),
          ...(moment(body.effectiveFrom) > moment(first) ? [found('not yet effective', units, C)] : []),
          ...(isSuperseded ? [found('superseded at use', units, C)] : []),
        ];
      }),
      applies: known.length > 0,
    };
  },

  'testers-qualified': (carried) => {
    const steps: Json[] = carried.lot.steps ?? [];
    return {
      found: [
        ...steps.flatMap(({ step, by, at, parts }) => unqualified(carried, by, step, at, parts ?? carried.serials)),
        ...carried.current.flatMap((row) =>
          unqualified(
            carried,
            row.analyst!,
            methodOf(carried, row)?.body.operation ?? row.method,
            row.measuredAt!,
            implantsOf(carried, row.specimen!),
          ),
        ),
      ],
      applies: steps.length + carried.current.length > 0,
    };
  },

  'calibration-valid': (carried) => ({
    found: carried.current.flatMap((row): Found[] => {
      const body = carried.pinned('instrument', row.instrument!)?.body;
      const fault = body && calibrationFault(body, row.measuredAt!);
      if (!fault) return [];
      const all = implantsOf(carried, row.specimen!);
      const cleared = fault.rule === 'found out of tolerance later' ? clearedByImpact(carried, row) : [];
      const units = all.filter((serial) => !cleared.includes(serial));
      return all.length > 0 && units.length === 0 ? [] : [found(fault.rule, units, fault.more)];
    }),
  }),

  'tests-long-enough': (carried) => {
    const lasting = carried.current.filter((row) => methodOf(carried, row)?.body.duration !== undefined);
    return {
      found: lasting.flatMap((row): Found[] => {
        const rule = ofDuration(carried, row, methodOf(carried, row).body.duration);
        return rule === undefined ? [] : [found(rule, implantsOf(carried, row.specimen!), D)];
      }),
      applies: lasting.length > 0,
    };
  },

  'results-complete': (_, verdicts) => ({
    found: closed(verdicts).flatMap(({ unit, values }): Found[] => {
      if (values.length === 0) return [found('no specimen', [unit], C)];
      if (values.every(({ isInvalid }) => isInvalid)) return [found('nothing since the rework', [unit], C)];
      return values.some(({ row }) => row === undefined) ? [found('result missing', [unit], C)] : [];
    }),
  }),

  'results-in-time': (carried) => {
    const early = carried.specification.body.characteristics.filter(({ due }: Json) =>
      ['before-build', 'before-sterilisation'].includes(due),
    );
    return {
      found: early.flatMap(({ due, characteristic }: Json): Found[] => {
        const sterilised = (carried.lot.steps ?? []).filter(({ step }: Json) => step === 'sterilise');
        const times =
          due === 'before-build'
            ? carried.builds.map(({ closedAt }) => closedAt)
            : sterilised.map(({ at }: Json) => at);
        const by = Math.min(...times.map(moment));
        const late = carried.current.filter(
          (row) => row.characteristic === characteristic && moment(row.measuredAt!) > by,
        );
        return late.length === 0
          ? []
          : [found('measured after it was due', implantsOfRows(carried, late), { ...BLOCKS, ...D })];
      }),
      applies: early.length > 0,
    };
  },

  'results-signed': (carried) => ({
    found: carried.allPinned('result-set').flatMap(({ digest, body }) => {
      const rows = carried.current.filter(({ evidence }) => evidence === body.evidence);
      const by = (meaning: string): string[] => carried.signed(digest, meaning).map(({ person }) => person.code);
      const open = rows.filter(
        ({ enteredBy }) => enteredBy !== '' && !by('checked').some((code) => code !== enteredBy),
      );
      const unsigned = rows.filter(({ analyst }) => !by('performed').includes(analyst!));
      return [
        ...unique(unsigned.map(({ analyst }) => analyst)).map((one) =>
          found(
            'not signed as performed',
            implantsOfRows(
              carried,
              unsigned.filter(({ analyst }) => analyst === one),
            ),
          ),
        ),
        ...unique(open.map(({ enteredBy }) => enteredBy)).map((one) =>
          found(
            'typed value not checked',
            implantsOfRows(
              carried,
              open.filter(({ enteredBy }) => enteredBy === one),
            ),
          ),
        ),
      ];
    }),
    applies: carried.current.length > 0,
  }),

  'repeats-decided': (carried) => {
    const invalid = invalidRows(carried);
    const tests = testsCalledInvalid(carried);
    const replacements: Json[] = carried.lot.replacements ?? [];
    return {
      found: [
        ...tests
          .filter(({ row }) => !invalid.has(row.row))
          .map(({ row }) => found('invalid test not decided', implantsOf(carried, row.specimen!), D)),
        ...replacements.flatMap(({ characteristic, replaces, by }): Found[] => {
          const units = implantsOf(carried, replaces);
          const item = carried.specification.body.characteristics.find(
            (one: Json) => one.characteristic === characteristic,
          );
          if (item?.retest === undefined) return [found('no retest rule', units)];
          const isSpare = carried.coupons.some(({ coupon, use }) => coupon === by && use === 'spare');
          if (!isSpare) return [found('not a spare coupon', units)];
          return replacementsOf(carried, replaces, item).includes(by)
            ? []
            : [found('more replacements than the retest rule allows', units)];
        }),
      ],
      applies: tests.length + replacements.length > 0,
    };
  },

  'destroyed-once': (carried) => {
    const invalid = invalidRows(carried);
    const counting = carried.current.filter(({ row }) => !invalid.has(row));
    const pieces = [...grouped(counting, ({ specimen, piece }) => `${specimen} ${piece}`).values()];
    const tested = pieces.filter((rows) => rows.some((row) => isDestructive(carried, row)));
    return {
      found: tested.flatMap((rows) => {
        const inOrder = byTime(rows);
        const end = inOrder.find((row) => isDestructive(carried, row))!;
        const time = (row: Row) => moment(row.measuredAt!);
        return inOrder
          .filter((row) => row.method !== end.method || time(row) !== time(end))
          .filter((row) => isDestructive(carried, row) || time(row) > time(end))
          .map((row) =>
            found(
              isDestructive(carried, row) ? 'destroyed twice' : 'measured after it was destroyed',
              implantsOf(carried, row.specimen!),
              D,
            ),
          );
      }),
      applies: tested.length > 0,
    };
  },

  acceptance: (_, verdicts) => ({
    found: closed(verdicts)
      .filter(({ verdict }) => verdict !== 'conforms')
      .flatMap(({ item, unit, verdict, values, plan }): Found[] => {
        const isEvery = item.plan === 'every-unit';
        const told = values.filter(
          (value) =>
            value.row !== undefined &&
            !value.isInvalid &&
            value.verdict !== 'conforms' &&
            (isEvery || value.verdict === verdict),
        );
        const of = (is: string, no: string, open: string) =>
          is === 'does not conform' ? found(no, [unit], { ...FAILS, ...C }) : found(open, [unit], C);
        return [
          ...(isEvery || plan === 'conforms' ? [] : [of(plan, 'plan not met', 'plan not decidable')]),
          ...told.map((value) => of(value.verdict, 'outside limits', 'not decidable')),
        ];
      }),
    applies: verdicts.length > 0,
  }),

  'failures-explained': (carried, verdicts) => {
    const failing = verdicts.flatMap(({ values }) =>
      values.filter((one) => one.row !== undefined && !one.isInvalid && one.verdict === 'does not conform'),
    );
    const touched = logFindings(carried)
      .filter(({ level }) => level !== 'alert')
      .flatMap(({ coupons }) => coupons);
    const names = unique(failing.map(({ specimen }) => specimen));
    return {
      found: carried.coupons
        .filter(({ coupon }) => names.includes(coupon) && !touched.includes(coupon))
        .map(({ standsFor }) => found('failed without a cause', standsFor, D)),
      applies: carried.coupons.length > 0,
    };
  },

  'after-release-relied': (carried) => {
    const late = carried.specification.body.characteristics.filter(({ due }: Json) => due === 'after-release');
    return {
      found: late.flatMap(({ relies }: Json) =>
        carried.builds
          .filter(({ closedAt }) => !mayRelyOn(carried, relies, moment(closedAt)))
          .map(({ build }) => found('not valid for a late result', implantsOfBuild(carried, build))),
      ),
      applies: late.length > 0,
    };
  },
};
