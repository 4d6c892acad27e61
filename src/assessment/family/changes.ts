import type { Made } from '../../dossier/beside-values.js';
import { FACTORS, suppliersOf } from './pool-trials.js';
import type { StudyRow } from './study-input.js';
import type { ChangeLine } from './study-result.js';

type What = ChangeLine['what'];

/** Changes that are lines through the chart; the others are marks at its foot. */
export const LINES: readonly string[] = [
  ...(['machine', 'recipe', 'recipe group', 'heat', 'supplier', 'method', 'medium'] satisfies What[]),
];

/** What is compared between two points: how a factor reads, by its name. Several of a kind have a name each. */
type Reading = readonly {
  readonly what: What;
  readonly name: string;
  readonly says: string;
  readonly used?: ChangeLine['used'];
}[];

/** Shares of a blend that differ by less are the same. */
const SAME_SHARE = 0.01;

/**
 * Where something that was recorded about making or measuring changed. What belongs to a machine is compared with the point
 * before it from the same machine, since two machines that take turns change nothing; what belongs to the laboratory, with
 * the point before.
 * @param rows of each point one row, in the order of the chart.
 */
export function changesOf(rows: readonly StudyRow[]): ChangeLine[] {
  const found: ChangeLine[] = [];
  const lastOf = new Map<string, StudyRow>();
  rows.forEach((row, before) => {
    const { machine } = row.context;
    const [previous, onMachine] = [rows[before - 1], lastOf.get(machine)];
    lastOf.set(machine, row);
    if (previous && previous.context.machine !== machine) {
      found.push({ before, what: 'machine', from: previous.context.machine, to: machine, machine: null });
    }
    if (onMachine) found.push(...between(ofMachine, onMachine, row, before, machine), ...blend(onMachine, row, before));
    if (previous) found.push(...between(ofLaboratory, previous, row, before, null));
  });
  return found;
}

function between(
  read: (row: StudyRow) => Reading,
  from: StudyRow,
  to: StudyRow,
  before: number,
  machine: string | null,
): ChangeLine[] {
  const known = new Map(read(from).map((one) => [one.name, one]));
  return read(to).flatMap(({ what, name, says }) => {
    const was = known.get(name);
    if (was === undefined || was.says === says) return [];
    return [{ before, what, from: was.says, to: says, ...(was.used ? { used: was.used } : {}), machine }];
  });
}

const named = (what: What, says: string | undefined): Reading =>
  says === undefined || says === '' ? [] : [{ what, name: what, says }];

const joined = (names: readonly string[]): string => [...new Set(names)].sort().join(', ');

function ofMachine(row: StudyRow): Reading {
  const { made } = row.beside;
  return [
    ...(['recipe group', 'recipe', 'zone class'] as const).flatMap((what) => named(what, FACTORS[what](row))),
    ...named('heat', made && joined(made.powder.map(({ heat }) => heat))),
    ...named('supplier', made && suppliersOf(made.powder)),
    ...named('operator', made?.operator),
    ...named('maintenance', made?.maintained?.slice(0, 10)),
    ...wornOf(made),
  ];
}

function ofLaboratory(row: StudyRow): Reading {
  const { made } = row.beside;
  const { exposed } = row.context;
  return [
    ...named('method', FACTORS.method(row)),
    ...named('medium', exposed && `${exposed.medium} revision ${exposed.mediumRevision}`),
    ...named('medium batch', made && joined(made.batches)),
    ...named('analyst', made && joined(made.analysts)),
    ...named('instrument', made && joined(made.calibrated.map(({ instrument }) => instrument))),
    ...(made?.calibrated ?? []).flatMap(({ instrument, at }): Reading => {
      const says = `${instrument}, ${at === null ? 'none on record' : at.slice(0, 10)}`;
      return [{ what: 'calibration', name: `calibration of ${instrument}`, says }];
    }),
  ];
}

const WORN: Readonly<Record<string, What>> = {
  filter: 'filter',
  tip: 'tip',
  'milling tool': 'tool',
  'peening media': 'peening media',
};

/** Compared by its code alone, since it is used more with each build. */
function wornOf(made: Made | undefined): Reading {
  const kinds = new Map<What, Made['worn']>();
  for (const one of made?.worn ?? []) {
    const what = WORN[one.category];
    if (what) kinds.set(what, [...(kinds.get(what) ?? []), one]);
  }
  return [...kinds].flatMap(([what, worn]) => {
    const used = worn.map(({ consumable: code, uses, hours }) => ({ code, uses, hours }));
    return named(what, joined(used.map(({ code }) => code))).map((one) => ({ ...one, used }));
  });
}

/** The same heats in other shares. */
function blend(from: StudyRow, to: StudyRow, before: number): ChangeLine[] {
  const [was, is] = [from.beside.made?.powder ?? [], to.beside.made?.powder ?? []];
  const shares = new Map(was.map(({ heat, supplier, share }) => [`${supplier} ${heat}`, share]));
  if (is.length < 2 || is.length !== was.length) return [];
  const moved = is.map(({ heat, supplier, share }) =>
    Math.abs(share - (shares.get(`${supplier} ${heat}`) ?? Number.NaN)),
  );
  if (moved.some(Number.isNaN) || Math.max(...moved) < SAME_SHARE) return [];
  return [{ before, what: 'blend share', from: sharesIn(was), to: sharesIn(is), machine: to.context.machine }];
}

const sharesIn = (powder: Made['powder']): string =>
  powder.map(({ heat, share }) => `${heat} ${Number((100 * share).toFixed(1))} %`).join(', ');
