/** Numbers may differ by one unit of the ninth significant digit: Math functions differ between engines. */
const RELATIVE = 1e-8;

/** Where two JSON values differ: the JSON texts there, null where there is none. */
export interface Difference {
  readonly place: string;
  readonly attached: string | null;
  readonly again: string | null;
}

/**
 * The first place in which two JSON values differ, or undefined. Numbers are compared to one unit of the ninth
 * significant digit, everything else exactly.
 * @param names `attached` passes over what a later version says beyond the attached: its forms grow by fields.
 */
export function firstDifference(
  attached: unknown,
  again: unknown,
  names: 'all' | 'attached' = 'all',
  place = '',
): Difference | undefined {
  if (typeof attached === 'number' && typeof again === 'number') {
    const close = Math.abs(attached - again) <= RELATIVE * Math.max(Math.abs(attached), Math.abs(again));
    return close ? undefined : differing(place, attached, again);
  }
  if (Array.isArray(attached) && Array.isArray(again)) {
    for (let index = 0; index < Math.max(attached.length, again.length); index++) {
      const found = firstDifference(attached[index], again[index], names, `${place}[${index}]`);
      if (found) return found;
    }
    return undefined;
  }
  if (isRecord(attached) && isRecord(again)) {
    const compared = names === 'all' ? { ...attached, ...again } : attached;
    for (const name of Object.keys(compared).sort()) {
      const found = firstDifference(attached[name], again[name], names, place ? `${place}.${name}` : name);
      if (found) return found;
    }
    return undefined;
  }
  return attached === again ? undefined : differing(place, attached, again);
}

const isRecord = (value: unknown): value is Record<string, unknown> =>
  value !== null && typeof value === 'object' && !Array.isArray(value);

function differing(place: string, attached: unknown, again: unknown): Difference {
  const text = (value: unknown): string | null => JSON.stringify(value) ?? null;
  return { place, attached: text(attached), again: text(again) };
}
