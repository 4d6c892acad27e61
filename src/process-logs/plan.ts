import { BadInputError, type Problem } from '../base/errors.js';
import type { Condensate } from './dew-point.js';
import type { Level } from './levels.js';
import { readTimestampUs } from './timestamp.js';

/**
 * What a scan looks for, as plain data. The report of a scan is a function of the bytes of the log, this plan and
 * the version of the scanner, and of nothing else.
 */
export interface ScanPlan {
  /** Code of the build: part of each finding's identity, so that two builds never share a finding. */
  readonly build: string;
  /** The columns after timestamp, layer, zone and step. The log must have exactly these, in any order. */
  readonly channels: readonly PlannedChannel[];
  readonly windows: readonly ScanWindow[];
  readonly setValues: readonly SetValue[];
  readonly inert: InertAtmosphere;
  /** From closing to opening the chamber; null when it is not known, and then chamber windows always hold. */
  readonly closure: Closure | null;
  /** What the lot says was built in this build. Empty: no zone is called unknown or missing. */
  readonly expected: readonly ExpectedZone[];
  /** Time between two rows when all is well, milliseconds. The last row before a gap counts for this long. */
  readonly nominalPeriodMs: number;
  /** A longer silence is a gap, milliseconds. */
  readonly gapLimitMs: number;
  /** What must be added to the recorder's clock to get true time, milliseconds. */
  readonly clockOffsetMs: number;
}

/** Where a unit was stated. */
export type UnitSource = 'lot file' | 'sidecar' | 'unit row' | 'channel map';

export interface PlannedChannel {
  readonly name: string;
  /** Unit of the windows and of everything in the report, UCUM; null: whatever is logged. */
  readonly ucum: string | null;
  /** Unit of the numbers in the log, UCUM; null: the log must say it in a unit row. */
  readonly loggedUcum: string | null;
  /** Who says so; empty when nobody does. */
  readonly unitFrom: readonly UnitSource[];
  /** How a logged dew point becomes the share of moisture that the windows are about; null for other channels. */
  readonly dewPoint: PlannedDewPoint | null;
}

export interface PlannedDewPoint {
  readonly over: Condensate;
  /** Logged pressure at the sensor: absolute, or gauge when the channel of the ambient pressure is named too. */
  readonly pressureChannel: string;
  readonly ambientChannel: string | null;
}

/** A band for one channel at one level. Null leaves a side open, or the window unbounded in that respect. */
export interface ScanWindow {
  readonly channel: string;
  readonly level: Level;
  readonly low: number | null;
  readonly high: number | null;
  /**
   * An excursion counts from this duration on, or from this integral beyond the limit on, whichever comes first.
   * With neither, each excursion counts.
   */
  readonly minimumMs: number | null;
  /** Unit of the channel × seconds. */
  readonly integralLimit: number | null;
  /** `closure`: holds over every zone, step and layer, but only while the chamber is closed. */
  readonly scope: 'closure' | ZoneScope;
}

/** What a channel that repeats a setting must show: exactly the value of the recipe, wherever the step is done. */
export interface SetValue {
  readonly channel: string;
  readonly value: number;
  readonly scope: ZoneScope;
}

export interface ZoneScope {
  readonly zone: string;
  readonly step: string;
  readonly layerFrom: number;
  readonly layerTo: number;
}

/** Channels whose excursions together break the inert atmosphere; breaks closer than `joinMs` are one break. */
export interface InertAtmosphere {
  readonly channels: readonly string[];
  readonly joinMs: number;
}

/** Times as ISO text with offset. */
export interface Closure {
  readonly closedAt: string;
  readonly openedAt: string;
}

export interface ExpectedZone {
  readonly zone: string;
  /** Layers that were made in this build. */
  readonly layerFrom: number;
  readonly layerTo: number;
  /** First layer of the zone, which an interrupted build may have made: steps are due every so many layers from it. */
  readonly firstLayer: number;
  /** Those that are done in this build, in the order in which they are done at a layer. */
  readonly steps: readonly ExpectedStep[];
  /**
   * Set where the build only finishes what another deposited: each step is due once, at any layer or with none named, and
   * a zone without steps is not due at all.
   */
  readonly isFinishing?: true;
}

export interface ExpectedStep {
  readonly step: string;
  /** The step is done at least once in so many layers. */
  readonly everyLayers: number;
  /** How long the step takes at one layer of the zone, milliseconds; null leaves a side open. */
  readonly shortestMs: number | null;
  readonly longestMs: number | null;
}

/** @throws BadInputError naming everything in the plan that cannot be. */
export function checkPlan(plan: ScanPlan): void {
  const problems = [
    ...channelProblems(plan),
    ...windowProblems(plan),
    ...setValueProblems(plan),
    ...timeProblems(plan),
  ];
  if (problems.length > 0) throw new BadInputError(problems);
}

function channelProblems({ channels }: ScanPlan): Problem[] {
  const names = channels.map((channel) => channel.name);
  const problems: Problem[] = names.length === 0 ? [problem('channels', 'none', 'at least one channel')] : [];
  channels.forEach(({ name, dewPoint }, index) => {
    const field = `channels[${index}]`;
    if (names.indexOf(name) !== index) problems.push(problem(field, `"${name}" a second time`, 'each channel once'));
    for (const pressure of dewPoint === null ? [] : [dewPoint.pressureChannel, dewPoint.ambientChannel]) {
      if (pressure === null || (pressure !== name && names.includes(pressure))) continue;
      problems.push(problem(field, `no logged pressure "${pressure}"`, 'a channel of this log that logs the pressure'));
    }
  });
  return problems;
}

function windowProblems({ windows }: ScanPlan): Problem[] {
  const problems: Problem[] = [];
  windows.forEach(({ channel, low, high, minimumMs, integralLimit }, index) => {
    const field = `windows[${index}]`;
    const numbers = [low, high, minimumMs, integralLimit].filter((value) => value !== null);
    if (!numbers.every(Number.isFinite)) problems.push(problem(field, `a number of ${channel}`, 'finite numbers'));
    if (low === null && high === null) problems.push(problem(field, `no limit for ${channel}`, 'low, high or both'));
    if (low !== null && high !== null && low > high) {
      problems.push(problem(field, `low ${low} above high ${high}`, 'a low limit not above the high one'));
    }
  });
  return problems;
}

function setValueProblems({ setValues }: ScanPlan): Problem[] {
  return setValues.flatMap(({ channel, value }, index) =>
    Number.isFinite(value) ? [] : [problem(`setValues[${index}]`, `${value} for ${channel}`, 'a finite number')],
  );
}

function timeProblems(plan: ScanPlan): Problem[] {
  const problems: Problem[] = [];
  if (!(plan.nominalPeriodMs > 0)) problems.push(problem('nominalPeriodMs', `${plan.nominalPeriodMs}`, 'above zero'));
  if (!(plan.gapLimitMs >= plan.nominalPeriodMs)) {
    problems.push(problem('gapLimitMs', `${plan.gapLimitMs}`, `at least the nominal period, ${plan.nominalPeriodMs}`));
  }
  if (!Number.isFinite(plan.clockOffsetMs)) {
    problems.push(problem('clockOffsetMs', `${plan.clockOffsetMs}`, 'a finite number of milliseconds'));
  }
  if (plan.closure !== null) {
    for (const name of ['closedAt', 'openedAt'] as const) {
      if (readTimestampUs(plan.closure[name]) === undefined) {
        problems.push(problem(`closure.${name}`, plan.closure[name], 'a date and time with offset'));
      }
    }
  }
  return problems;
}

function problem(field: string, found: string, expected: string): Problem {
  return {
    code: 'log-plan',
    field: `plan.${field}`,
    found,
    expected,
    remedy: 'correct the log entry of the build in the lot file, or the windows of the recipe',
  };
}
