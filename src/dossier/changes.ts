/** How a new body of an entry relates to the recorded one. `reason` itself is no fact of the thing. */
export type Change = 'same' | 'added to' | 'changed';

/** A field added makes the next revision by itself; a field changed or removed needs a reason (docs/trade.md 11.3). */
export function changeBetween(before: unknown, after: unknown): Change {
  const [old, now] = [withoutReason(before), withoutReason(after)];
  if (equal(old, now)) return 'same';
  return contains(now, old) ? 'added to' : 'changed';
}

function withoutReason(body: unknown): unknown {
  if (!isRecord(body)) return body;
  const { reason: _, ...rest } = body;
  return rest;
}

const isRecord = (value: unknown): value is Record<string, unknown> =>
  value !== null && typeof value === 'object' && !Array.isArray(value);

function equal(a: unknown, b: unknown): boolean {
  return contains(a, b) && contains(b, a);
}

/** Whether everything that `part` says is said by `whole` too; lists may only have grown at their end. */
function contains(whole: unknown, part: unknown): boolean {
  if (Array.isArray(part)) {
    return Array.isArray(whole) && part.every((item, index) => contains(whole[index], item));
  }
  if (isRecord(part)) {
    return isRecord(whole) && Object.entries(part).every(([name, value]) => contains(whole[name], value));
  }
  return whole === part;
}

/** The first field in which the recorded body is not kept, for the problem report. */
export function firstChange(before: unknown, after: unknown, path = ''): { field: string; was: string } | undefined {
  if (contains(after, before)) return undefined;
  if (isRecord(before) && isRecord(after)) {
    for (const [name, value] of Object.entries(before)) {
      const found = firstChange(value, after[name], path ? `${path}.${name}` : name);
      if (found) return found;
    }
  }
  if (Array.isArray(before) && Array.isArray(after)) {
    for (const [index, value] of before.entries()) {
      const found = firstChange(value, after[index], `${path}[${index}]`);
      if (found) return found;
    }
  }
  return { field: path, was: typeof before === 'string' ? before : JSON.stringify(before) };
}
