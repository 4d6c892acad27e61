/** Numbers may differ by one unit of the ninth significant digit: Math functions differ between engines. */
const RELATIVE = 1e-8;

/**
 * The first place in which two JSON values differ, or undefined. Numbers are compared to one unit of the ninth
 * significant digit, everything else exactly.
 */
export function firstDifference(attached: unknown, again: unknown, place = ''): string | undefined {
  if (typeof attached === 'number' && typeof again === 'number') {
    const close = Math.abs(attached - again) <= RELATIVE * Math.max(Math.abs(attached), Math.abs(again));
    return close ? undefined : `${place}: ${attached} attached, ${again} computed again`;
  }
  if (Array.isArray(attached) && Array.isArray(again)) {
    for (let index = 0; index < Math.max(attached.length, again.length); index++) {
      const found = firstDifference(attached[index], again[index], `${place}[${index}]`);
      if (found) return found;
    }
    return undefined;
  }
  if (isRecord(attached) && isRecord(again)) {
    for (const name of [...new Set([...Object.keys(attached), ...Object.keys(again)])].sort()) {
      const found = firstDifference(attached[name], again[name], place ? `${place}.${name}` : name);
      if (found) return found;
    }
    return undefined;
  }
  return attached === again ? undefined : `${place}: ${say(attached)} attached, ${say(again)} computed again`;
}

const isRecord = (value: unknown): value is Record<string, unknown> =>
  value !== null && typeof value === 'object' && !Array.isArray(value);

function say(value: unknown): string {
  const text = JSON.stringify(value) ?? 'nothing';
  return text.length > 120 ? `${text.slice(0, 117)}…` : text;
}
