import { LineCounter, parseDocument } from 'yaml';
import { z } from 'zod';
import type { LogFacts } from '../dossier/schema.js';
import { BadInputError, type Problem } from '../errors.js';
import { Code, Format, Ucum } from '../kinds/fields.js';
import { isUnit } from '../units.js';

const Sidecar = z.strictObject({
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
export function readUnitsSidecar(text: string, file: string): ChannelUnits {
  const lines = new LineCounter();
  const document = parseDocument(text, { schema: 'failsafe', lineCounter: lines, uniqueKeys: true });
  const remedy = 'correct the sidecar, or state the units in the lot file';
  if (document.errors.length > 0) {
    throw new BadInputError(
      document.errors.map((error) => ({
        code: 'log-units',
        file,
        line: lines.linePos(error.pos[0]).line,
        found: error.message.split('\n')[0]!,
        expected: 'one whole YAML document',
        remedy,
      })),
    );
  }
  const lineAt = (path: readonly PropertyKey[]): number => {
    for (let length = path.length; length > 0; length -= 1) {
      const node = document.getIn(path.slice(0, length), true) as { range?: [number, number, number] } | undefined;
      if (node?.range) return lines.linePos(node.range[0]).line;
    }
    return 1;
  };
  const parsed = Sidecar.safeParse(document.toJS());
  if (!parsed.success) {
    throw new BadInputError(
      parsed.error.issues.map(({ path, message }) => ({
        code: 'log-units',
        file,
        line: lineAt(path),
        field: path.join('.'),
        found: shown(document.getIn(path)),
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
    if (!isUnit(ucum)) refuse(ucum, 'a UCUM code such as [ppm], mbar, Cel, W', 'write the unit as a UCUM code');
    units.set(channel, ucum);
  });
  if (problems.length > 0) throw new BadInputError(problems);
  return units;
}

function shown(value: unknown): string {
  const text = typeof value === 'string' ? JSON.stringify(value) : value === undefined ? 'nothing' : 'another shape';
  return text.length > 80 ? `${text.slice(0, 77)}…` : text;
}
