import { z } from 'zod';
import type { Contradiction } from './kind.js';

/** How a program of another maker writes the time. Nothing of it is ever guessed. */
export const TIME_FORM = {
  form: z
    .string()
    .min(1)
    .max(60)
    .describe('ISO, unix s, unix ms, or a pattern of YYYY, MM, DD, HH, mm, ss and S, such as DD.MM.YYYY HH:mm:ss.S'),
  zone: z
    .string()
    .max(60)
    .optional()
    .describe('of a pattern: the offset (+01:00) or the IANA name (Europe/Berlin) of the clock; absent otherwise'),
};

/** Name of a column, as the head line of a file has it. */
export const ColumnName = z
  .string()
  .min(1)
  .max(200)
  .regex(/^\P{Cc}+$/u, { error: 'the name of a column as its head line has it' });

/** Of the text of another program: how it ends. */
export const LastLine = z
  .literal('may be open')
  .optional()
  .describe('the last line need not be ended; where this is absent, one that is not may have been cut, and is refused');

/** A pattern needs the zone of its clock, and every part of a moment; the other forms say the zone themselves. */
export function timeFormFaults(
  { form, zone }: { readonly form: string; readonly zone?: string | undefined },
  field: string,
): Contradiction[] {
  const needsZone = !/^(?:ISO|unix m?s)$/.test(form);
  const fault = (at: string, found: string, expected: string): Contradiction => ({
    ...{ field: `${field}.${at}`, found, expected, remedy: 'correct it' },
  });
  const asked = needsZone ? 'the zone of the clock, since the pattern has none' : 'no zone: this form says it itself';
  return [
    ...(needsZone === (zone !== undefined) ? [] : [fault('zone', zone ?? 'no zone', asked)]),
    ...(needsZone && !isPattern(form)
      ? [fault('form', form, 'YYYY, MM, DD, HH, mm and ss each once, S at most once')]
      : []),
    ...(zone === undefined || isZone(zone) ? [] : [fault('zone', zone, 'an offset such as +01:00 or an IANA name')]),
  ];
}

function isPattern(form: string): boolean {
  const times = (token: string) => form.split(token).length - 1;
  return ['YYYY', 'MM', 'DD', 'HH', 'mm', 'ss'].every((token) => times(token) === 1) && times('S') <= 1;
}

function isZone(zone: string): boolean {
  if (/^[+-](?:0\d|1[0-4]):[0-5]\d$/.test(zone)) return true;
  try {
    return new Intl.DateTimeFormat('en', { timeZone: zone }) !== undefined && !/^[+-]/.test(zone);
  } catch {
    return false;
  }
}
