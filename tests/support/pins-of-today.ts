import { systemClock } from '../../src/base/clock.js';
import { Random } from '../../src/base/random.js';
import { LOG_CHANNELS, logText } from '../../src/qualification/log.js';
import type { LotFiles } from '../../src/qualification/lots.js';
import { signedByLaboratory } from '../../src/qualification/pins/lab-signer.js';
import { LABORATORY } from '../../src/qualification/pins/pin-lab.js';
import { builtPins, PIN_BUILD, PIN_EXPORT, PIN_LOT, plannedPins } from '../../src/qualification/pins/pin-lot.js';
import { SITE_STEPS } from '../../src/qualification/site.js';
import type { Cell } from './cell.js';
import { cellOfToday } from './cell-of-today.js';

const DAY_MS = 86_400_000;
const MOMENT = /(?<!\d)20\d\d-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?Z/g;
const CLOSED = Date.parse('2026-11-09T06:30:00Z');
/** The log of two hours in some seconds. */
const FASTER = 600;
const PERIODS = ['nominalPeriodMs', 'gapLimitMs'] as const;
/** Around a time of now: it stands in no document. */
const MARK = '\u0001';
const LOT_FILE = `lots/${PIN_LOT}/lot.yaml`;

const LOG_FILE = 'logs/run-301.csv';
/** As a logger of the machine writes it, so that its times can be moved. */
const LOGGED_AS_CSV = {
  log: {
    file: LOG_FILE,
    channels: LOG_CHANNELS.map((channel, index) => ({
      ...{ channel, ucum: ['[ppm]', '[ppm]', 'W', 'mbar', 'g/min', 'N', '/min'][index] },
      ...(index < 2 ? { instrument: ['OX-1', 'HYG-1'][index] } : {}),
    })),
    ...{ nominalPeriodMs: PIN_BUILD.periodMs, gapLimitMs: 5 * PIN_BUILD.periodMs },
  },
  files: {},
};

/** Days moved so that the chamber is closed today. */
function movedDays<T>(value: T): T {
  const today = Date.parse(systemClock.now().toISOString().slice(0, 10));
  const days = Math.round((today - Date.parse('2026-11-09')) / DAY_MS);
  const moved = (day: string) => new Date(Date.parse(day) + days * DAY_MS).toISOString().slice(0, 10);
  return JSON.parse(JSON.stringify(value).replaceAll(/(?<!\d)20\d\d-\d\d-\d\d/g, moved)) as T;
}

const cellOf = ({ documents, texts }: LotFiles): Cell => ({
  documents: documents as Cell['documents'],
  sheets: {},
  files: texts,
});

/** The cell of the demo as it stood before the pins, and this very program, which it accepts. */
export function siteOfToday(): Cell {
  const steps = SITE_STEPS.filter(({ at, folder }) => at < '2026-09' && !folder.endsWith('plans'));
  const site = cellOf({ documents: Object.assign({}, ...steps.map(({ documents }) => documents)), texts: {} });
  const { documents, files } = cellOfToday();
  const [program, check] = ['site/program-version.yaml', 'site/self-check.json'];
  return {
    ...site,
    documents: { ...movedDays(site.documents), [program]: documents[program]! },
    files: { [check]: files[check]! },
  };
}

/** What the pins need, and their lot as a plan for the next hour. */
export function pinsPlannedToday(): Cell {
  const { documents, texts } = plannedPins();
  const moved = movedDays(documents) as Cell['documents'];
  const [build] = moved[LOT_FILE]!.builds;
  const inAnHour = systemClock.now().getTime() + 3_600_000;
  Object.assign(build, {
    closedAt: new Date(inAnHour).toISOString(),
    openedAt: new Date(inAnHour + 60_000).toISOString(),
  });
  return { documents: moved, sheets: {}, files: movedFiles(texts) };
}

/**
 * The same lot built from now on, in some seconds, with all that came after right behind; the export of the spectrometer by
 * itself. @returns when all of it lies in the past.
 */
export function pinsBuiltToday(): { cell: Cell; exported: string; doneAt: number } {
  const { documents, texts: came } = builtPins(LOGGED_AS_CSV);
  const csv = logText(PIN_BUILD, new Random(301), new Random(2301));
  const texts: Readonly<Record<string, string>> = { ...came, [`lots/${PIN_LOT}/${LOG_FILE}`]: csv };
  const closedAt = Math.ceil(systemClock.now().getTime() / 1000) * 1000;
  const opened = Date.parse((documents[LOT_FILE] as Cell['documents'][string]).builds[0].openedAt);
  const exportName = `lots/${PIN_LOT}/${PIN_EXPORT}`;
  const { [exportName]: written, ...others } = texts;
  const all = JSON.stringify([documents, others]);
  const after = [...new Set(all.match(MOMENT)!.map((text) => Date.parse(text)))].filter((at) => at > opened).sort();
  const openedAt = closedAt + (opened - CLOSED) / FASTER;
  const now = (text: string): string => {
    const at = Date.parse(text);
    if (at < CLOSED) return text;
    const rank = after.indexOf(at);
    return new Date(rank < 0 ? closedAt + (at - CLOSED) / FASTER : openedAt + 100 * (rank + 1)).toISOString();
  };
  // What stood before the chamber was closed moves by days; the rest was given times of now, which stay.
  const marked = (text: string) =>
    text.replaceAll(MOMENT, (one) => (Date.parse(one) < CLOSED ? one : `${MARK}${now(one)}${MARK}`));
  const [made, files] = JSON.parse(
    marked(all)
      .split(MARK)
      .map((part, index) => (index % 2 === 1 ? part : movedText(part)))
      .join(''),
  ) as [Cell['documents'], Record<string, string>];
  const { log } = made[LOT_FILE]!.builds[0];
  for (const name of PERIODS) log[name] /= FASTER;
  const measured = Math.ceil(openedAt / 1000) * 1000 + 100 * after.length;
  const wall = (at: number) => {
    const [, year, month, day, time] = /(\d+)-(\d+)-(\d+)T([\d:]+)/.exec(new Date(at + 3_600_000).toISOString())!;
    return `${day}.${month}.${year} ${time}`;
  };
  let row = 0;
  const exported = written!.replaceAll(/\d\d\.\d\d\.\d{4} [\d:]+/g, () => wall(measured + 1000 * row++));
  return { cell: { documents: made, sheets: {}, files }, exported, doneAt: measured + 3000 };
}

/** A signature of the laboratory does not hold for other days: it signs what was moved again. */
function movedFiles(texts: Readonly<Record<string, string>>): Record<string, string> {
  const anew = (text: string): string => {
    const signedAt = /<xades:SigningTime>([^<]+)</.exec(text)?.[1];
    const plain = text.replace(/<ds:Signature [\s\S]*<\/ds:Signature>/, '');
    return signedAt === undefined ? text : signedByLaboratory(plain, LABORATORY, signedAt);
  };
  return Object.fromEntries(Object.entries(movedDays(texts)).map(([name, text]) => [name, anew(text)]));
}

const movedText = (text: string): string => movedDays([text])[0]!;
