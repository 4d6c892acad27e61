import { z } from 'zod';
import { BadInputError, type Problem } from '../base/errors.js';
import { expectedUnit, isUnit } from '../base/units.js';
import { readYamlText, valueAt } from '../base/yaml-text.js';
import type { LogFacts } from '../dossier/schema.js';
import { Code, Format, Ucum } from '../kinds/fields.js';

export const Sidecar = z.strictObject({
  kind: z.literal('log-units'),
  format: Format,
  channels: z.array(z.strictObject({ channel: Code, ucum: Ucum })).min(1),
});

/** The unit of each channel, UCUM. */
export type ChannelUnits = ReadonlyMap<string, string>;

/**
 * Reads the sidecar of a log, the file that says in which unit each channel was written:
 * `kind: log-units`, `format: 1`, `channels:` with `channel` and `ucum`.
 * @throws BadInputError naming every line that is wrong.
 */
export function readUnitsSidecar(source: Uint8Array | string, file: string): ChannelUnits {
  const { read, problems } = readYamlText(file, source);
  if (!read || problems.length > 0) throw new BadInputError(problems);
  const { value, lineAt } = read;
  const remedy = 'correct the sidecar, or state the units in the lot file';
  const parsed = Sidecar.safeParse(value);
  if (!parsed.success) {
    throw new BadInputError(
      parsed.error.issues.map(({ path, message }) => ({
        code: 'log-units',
        file,
        line: lineAt(path),
        field: path.join('.'),
        found: shown(valueAt(value, path)),
        expected: message,
        remedy,
      })),
    );
  }
  return byChannel(parsed.data.channels, file, (index) => lineAt(['channels', index]));
}

/** What the sidecars of scanned logs said, by the name of the log: enough to scan these again without the sidecars. */
export function sidecarsOf(logs: readonly LogFacts[]): ReadonlyMap<string, ChannelUnits> {
  const told = logs.map(({ fileName, channels = [] }) => {
    const fromSidecar = channels.filter(({ unitFrom }) => unitFrom.includes('sidecar'));
    return [fileName, new Map(fromSidecar.map(({ channel, loggedUcum }) => [channel, loggedUcum]))] as const;
  });
  return new Map(told);
}

function byChannel(
  channels: readonly { readonly channel: string; readonly ucum: string }[],
  file: string,
  lineOf: (index: number) => number,
): ChannelUnits {
  const units = new Map<string, string>();
  const problems: Problem[] = [];
  channels.forEach(({ channel, ucum }, index) => {
    const refuse = (found: string, expected: string, remedy: string) =>
      problems.push({ code: 'log-units', file, line: lineOf(index), field: channel, found, expected, remedy });
    if (units.has(channel)) refuse(`${channel} a second time`, 'each channel once', 'remove one of the two');
    if (!isUnit(ucum)) refuse(ucum, expectedUnit(ucum, '[ppm], mbar, Cel, W'), 'write the unit as a UCUM code');
    units.set(channel, ucum);
  });
  if (problems.length > 0) throw new BadInputError(problems);
  return units;
}

function shown(value: unknown): string {
  const text = typeof value === 'string' ? JSON.stringify(value) : value === undefined ? 'nothing' : 'another shape';
  return text.length > 80 ? `${text.slice(0, 77)}…` : text;
}
