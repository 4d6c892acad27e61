import { AppError, BadInputError, type Problem } from '../base/errors.js';
import { conversion, expectedUnit, isUnit } from '../base/units.js';
import type { LogChannel } from '../dossier/schema.js';
import type { DewPointSource } from './dew-point.js';
import type { PlannedChannel, UnitSource } from './plan.js';
import { quote } from './rejection.js';

/** A channel of a log once it is known what its numbers mean. */
export interface ScannedChannel {
  readonly name: string;
  /** Unit of the windows and of everything in the report, UCUM. */
  readonly ucum: string;
  /** Unit of the numbers in the log, UCUM. */
  readonly loggedUcum: string;
  readonly unitFrom: readonly UnitSource[];
  /** Logged value × factor + offset is the value in `ucum`; of a dew point, the value in °C. */
  readonly factor: number;
  readonly offset: number;
  readonly dewPoint: DewPointSource | null;
}

/** True when values went through arithmetic on the way to `ucum`, and may be off by its rounding. */
export const isConverted = ({ factor, offset, dewPoint }: ScannedChannel): boolean =>
  factor !== 1 || offset !== 0 || dewPoint !== null;

/** Digits of a value that was converted, and of one that came from a saturation formula. */
const CONVERTED_DIGITS = 12;
const DEW_POINT_DIGITS = 9;

/** A value as it is reported: what arithmetic on the way to `ucum` left behind (11.999999999999998) is rounded away. */
export function reportedValue(channel: ScannedChannel, value: number): number {
  if (!isConverted(channel)) return value;
  return Number(value.toPrecision(channel.dewPoint === null ? CONVERTED_DIGITS : DEW_POINT_DIGITS));
}

/** Where a problem with the unit of a channel is to be looked for. */
export interface UnitRowPlace {
  readonly file: string;
  readonly line: number;
}

/**
 * Settles the unit of every channel from what the lot file or the sidecar says (already in the plan) and from the unit
 * row of the log. Each unit must be stated at least once, and all statements must mean the same.
 * @param unitRow UCUM code for each channel of the plan; null when the log has no unit row.
 * @throws BadInputError naming each channel whose unit is missing, unknown, contradicted or not convertible.
 */
export function settleUnits(
  planned: readonly PlannedChannel[],
  unitRow: readonly string[] | null,
  place: UnitRowPlace,
): ScannedChannel[] {
  const problems: Problem[] = [];
  const attempt = <T>(channel: PlannedChannel, work: () => T): T | undefined => {
    try {
      return work();
    } catch (error) {
      if (!(error instanceof AppError)) throw error;
      problems.push(...(error instanceof BadInputError ? error.problems : [unconvertible(channel, error, place)]));
      return undefined;
    }
  };
  const logged = planned.map((channel, index) => attempt(channel, () => loggedUnit(channel, unitRow?.[index], place)));
  const settled = planned.map((channel, index) => {
    const unit = logged[index];
    return unit === undefined ? undefined : attempt(channel, () => settle(channel, unit, planned, logged));
  });
  if (problems.length > 0) throw new BadInputError(problems);
  return settled as ScannedChannel[];
}

/** How the channel was read, as the dossier keeps it. */
export function channelFacts(
  { name, ucum, loggedUcum, unitFrom, ...rest }: ScannedChannel,
  all: readonly ScannedChannel[],
): LogChannel {
  const { dewPoint, factor, offset } = rest;
  const facts = { channel: name, ucum, loggedUcum, unitFrom: [...unitFrom] };
  if (dewPoint === null) return { ...facts, factor, offset };
  const { over, pressure, ambient } = dewPoint;
  const ambientChannel = ambient === null ? null : all[ambient]!.name;
  return { ...facts, dewPoint: { over, pressureChannel: all[pressure]!.name, ambientChannel } };
}

interface LoggedUnit {
  readonly ucum: string;
  readonly from: readonly UnitSource[];
}

function loggedUnit(channel: PlannedChannel, inFile: string | undefined, place: UnitRowPlace): LoggedUnit {
  const { name, loggedUcum, unitFrom } = channel;
  const refuse = (found: string, expected: string, remedy: string): never => {
    throw new BadInputError([{ code: 'log-unit', ...place, field: name, found, expected, remedy }]);
  };
  if (inFile === undefined) {
    if (loggedUcum !== null) return { ucum: loggedUcum, from: unitFrom };
    return refuse(
      'no unit',
      'a unit in the lot file, in a sidecar file, or in a unit row of the log',
      'state in which unit the recorder wrote this channel; a unit is never guessed',
    );
  }
  if (!isUnit(inFile))
    return refuse(quote(inFile), expectedUnit(inFile, '[ppm], mbar, Cel, W'), 'correct the unit row');
  if (loggedUcum === null) return { ucum: inFile, from: ['unit row'] };
  if (meansTheSame(inFile, loggedUcum)) return { ucum: loggedUcum, from: [...unitFrom, 'unit row'] };
  return refuse(
    quote(inFile),
    `${loggedUcum}, as the ${unitFrom.join(' and the ')} says`,
    'find out which of the two is true, and correct the lot file or export the log again',
  );
}

/** True for two codes of one unit, such as hPa and mbar. */
export function meansTheSame(a: string, b: string): boolean {
  if (a === b) return true;
  try {
    const { factor, offset } = conversion(a, b);
    return factor === 1 && offset === 0;
  } catch {
    return false;
  }
}

function settle(
  channel: PlannedChannel,
  unit: LoggedUnit,
  planned: readonly PlannedChannel[],
  logged: readonly (LoggedUnit | undefined)[],
): ScannedChannel {
  const { name, dewPoint } = channel;
  const ucum = channel.ucum ?? unit.ucum;
  const known = { name, ucum, loggedUcum: unit.ucum, unitFrom: unit.from };
  if (dewPoint === null || isTemperature(ucum)) {
    // The tables of units are large, and most logs need none.
    const kept = unit.ucum === ucum ? { factor: 1, offset: 0 } : conversion(unit.ucum, ucum);
    return { ...known, ...kept, dewPoint: null };
  }
  // The values of the pressure channels come in the unit of their own windows.
  const toPascal = (channelName: string) => {
    const index = planned.findIndex((candidate) => candidate.name === channelName);
    const from = planned[index]!.ucum ?? logged[index]?.ucum;
    return { index, factor: from === undefined ? 1 : conversion(from, 'Pa').factor };
  };
  const pressure = toPascal(dewPoint.pressureChannel);
  const ambient = dewPoint.ambientChannel === null ? null : toPascal(dewPoint.ambientChannel);
  return {
    ...known,
    ...conversion(unit.ucum, 'Cel'),
    dewPoint: {
      over: dewPoint.over,
      pressure: pressure.index,
      pressureFactor: pressure.factor,
      ambient: ambient === null ? null : ambient.index,
      ambientFactor: ambient === null ? 0 : ambient.factor,
      shareFactor: conversion('[ppm]', ucum).factor * 1_000_000,
    },
  };
}

function isTemperature(ucum: string): boolean {
  try {
    conversion(ucum, 'K');
    return true;
  } catch {
    return false;
  }
}

function unconvertible(
  { name, ucum, loggedUcum, dewPoint }: PlannedChannel,
  error: Error,
  place: UnitRowPlace,
): Problem {
  const remedy =
    dewPoint === null && loggedUcum !== null && isTemperature(loggedUcum) && ucum !== null
      ? 'correct one of the two; for a dew point, say in the lot file over what (ice or water) and at which logged pressure'
      : 'correct the unit of the channel or of the window';
  return {
    code: 'log-unit',
    ...place,
    field: name,
    found: error.message,
    expected: ucum === null ? 'units that convert' : `a unit that converts to ${ucum}, the unit of the recipe`,
    remedy,
  };
}
