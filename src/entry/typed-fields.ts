import { z } from 'zod';
import type { SiteZone } from '../base/clock.js';
import type { FormShape } from '../kinds/form-shape.js';

/**
 * What stands in a form, by the names of its fields. A name is the place in the document as problems name it,
 * `zones[2].layers.from`; behind a colon stands what the form itself remembers of a place: `:row` that a row is there,
 * `:open` that a group is shown, `:shape` which of several shapes was chosen, `:local` a moment as the clocks of the site
 * show it, with `:was` as it stood in the document before. `:at` alone is where something was done last.
 */
export type TypedFields = Readonly<Record<string, string>>;

export const at = (path: string, name: string): string => (path === '' ? name : `${path}.${name}`);
const row = (path: string, index: number): string => `${path}[${index}]`;

/** Remembers where something was done last: there the form is open. */
export const AT = ':at';

/** Whether a name lies at a place or below it. */
export const isWithin = (name: string, path: string): boolean =>
  name.startsWith(path) && (name.length === path.length || '.[:'.includes(name[path.length]!));

export const isOpen = (fields: TypedFields, path: string): boolean =>
  Object.keys(fields).some((name) => isWithin(name, path));

/** How many rows of a list the form shows. */
export function rowsOf(fields: TypedFields, path: string): number {
  let rows = 0;
  for (const name of Object.keys(fields)) {
    const index = rowIn(name, path);
    if (index !== undefined) rows = Math.max(rows, index + 1);
  }
  return rows;
}

function rowIn(name: string, path: string): number | undefined {
  if (!name.startsWith(`${path}[`)) return undefined;
  const end = name.indexOf(']', path.length);
  const index = Number(name.slice(path.length + 1, end));
  return Number.isInteger(index) && index >= 0 ? index : undefined;
}

/** What a form shows of a document. */
export function fieldsOf(shape: FormShape, document: unknown): TypedFields {
  const fields: Record<string, string> = {};
  write(shape, '', document, fields);
  return fields;
}

function write(shape: FormShape, path: string, value: unknown, into: Record<string, string>): void {
  if (value === undefined || value === null) return;
  if (shape.is === 'line' || shape.is === 'choice') into[path] = String(value);
  if (shape.is === 'group') {
    if (path !== '') into[`${path}:open`] = '1';
    for (const { name, shape: inner } of shape.fields) {
      write(inner, at(path, name), (value as Record<string, unknown>)[name], into);
    }
  }
  if (shape.is === 'list') {
    for (const [index, item] of (value as unknown[]).entries()) {
      into[`${row(path, index)}:row`] = '1';
      write(shape.item, row(path, index), item, into);
    }
  }
  if (shape.is === 'either') {
    const found = shape.shapes.find((one) => z.safeParse(one.shape.schema, value).success);
    if (!found) return;
    into[`${path}:shape`] = found.name;
    write(found.shape, path, value, into);
  }
}

/** The document that a form says. What was left empty is absent, and so is what holds nothing but that. */
export const documentOf = (shape: FormShape, fields: TypedFields): Readonly<Record<string, unknown>> =>
  (read(shape, '', fields) ?? {}) as Record<string, unknown>;

function read(shape: FormShape, path: string, fields: TypedFields): unknown {
  switch (shape.is) {
    case 'fixed':
      return shape.value;
    case 'choice':
      return fields[path] || undefined;
    case 'line':
      return asTyped(shape.sense, fields[path] ?? '') || undefined;
    case 'group':
      return readGroup(shape, path, fields);
    case 'list': {
      const items = Array.from({ length: rowsOf(fields, path) }, (_, index) =>
        read(shape.item, row(path, index), fields),
      );
      const given = items.filter((item) => item !== undefined);
      return given.length > 0 ? given : undefined;
    }
    case 'either': {
      const chosen = chosenIn(shape, path, fields);
      return chosen && read(chosen, path, fields);
    }
  }
}

function readGroup(shape: Extract<FormShape, { is: 'group' }>, path: string, fields: TypedFields): unknown {
  const document: Record<string, unknown> = {};
  let isGiven = path === '';
  for (const { name, shape: inner, mayMiss } of shape.fields) {
    const value = read(inner, at(path, name), fields);
    if (value !== undefined) document[name] = value;
    // It has to be there, and nothing in it is an answer.
    else if (inner.is === 'list' && inner.mayBeEmpty && !mayMiss) document[name] = [];
    // A constant alone says nothing, unless it is what tells this shape from others.
    isGiven ||= value !== undefined && (inner.is !== 'fixed' || fields[`${path}:shape`] !== undefined);
  }
  return isGiven ? document : undefined;
}

/** A value as it is read: `12,5` is 12.5. Whoever typed it is shown what was understood. */
export function asTyped(sense: Extract<FormShape, { is: 'line' }>['sense'], typed: string): string {
  const text = typed.replaceAll('\r\n', '\n').trim();
  if (sense !== 'decimal' && sense !== 'certified') return text;
  const plain = text.replace(/^([<>≤≥]?\s*)[\u2212\u2013]/, '$1-');
  return /^[^.,]*\d,\d+[^.,]*$/.test(plain) ? plain.replace(',', '.') : plain;
}

/** The same form with each moment as documents have it. One that was not touched stays as it was, whatever its offset. */
export function momentsRead(fields: TypedFields, zone: SiteZone): TypedFields {
  const read: Record<string, string> = {};
  for (const [name, value] of Object.entries(fields)) {
    if (name.endsWith(':was')) continue;
    const place = name.endsWith(':local') ? name.slice(0, -':local'.length) : undefined;
    if (place === undefined) read[name] = value;
    else {
      const was = fields[`${place}:was`];
      read[place] = was !== undefined && zone.local(was) === value ? was : zone.moment(value);
    }
  }
  return read;
}

/** The same form with what was typed shown as it is read, and rows and groups without anything left out. */
export function asRead(shape: FormShape, fields: TypedFields): TypedFields {
  const into: Record<string, string> = {};
  tidy(shape, { from: '', to: '' }, fields, into);
  return into;
}

function tidy(
  shape: FormShape,
  { from, to }: { readonly from: string; readonly to: string },
  fields: TypedFields,
  into: Record<string, string>,
): void {
  if (shape.is === 'line' || shape.is === 'choice') {
    const value = read(shape, from, fields);
    if (value !== undefined) into[to] = value as string;
  }
  if (shape.is === 'group' && read(shape, from, fields) !== undefined) {
    if (to !== '') into[`${to}:open`] = '1';
    for (const { name, shape: inner } of shape.fields) {
      tidy(inner, { from: at(from, name), to: at(to, name) }, fields, into);
    }
  }
  if (shape.is === 'list') {
    let rows = 0;
    for (let index = 0; index < rowsOf(fields, from); index += 1) {
      if (read(shape.item, row(from, index), fields) === undefined) continue;
      into[`${row(to, rows)}:row`] = '1';
      tidy(shape.item, { from: row(from, index), to: row(to, rows) }, fields, into);
      rows += 1;
    }
  }
  if (shape.is === 'either') {
    const name = fields[`${from}:shape`];
    const chosen = shape.shapes.find((one) => one.name === name);
    if (!chosen) return;
    into[`${to}:shape`] = chosen.name;
    tidy(chosen.shape, { from, to }, fields, into);
  }
}

/** Fields of a form that the kind does not have, or has no more: a form of yesterday. What is empty is passed over. */
export const unknownIn = (shape: FormShape, fields: TypedFields): string[] =>
  Object.entries(fields).flatMap(([name, value]) =>
    name.includes(':') || value.trim() === '' || isKnown(shape, name, fields) ? [] : [name],
  );

function isKnown(shape: FormShape, name: string, fields: TypedFields): boolean {
  const steps = name.split(/[.[\]]/).filter((step) => step !== '');
  let inner: FormShape | undefined = shape;
  let path = '';
  for (const step of steps) {
    if (inner?.is === 'either') inner = chosenIn(inner, path, fields);
    if (inner?.is === 'list') {
      inner = /^\d+$/.test(step) ? inner.item : undefined;
      path = row(path, Number(step));
    } else {
      inner = inner?.is === 'group' ? inner.fields.find((field) => field.name === step)?.shape : undefined;
      path = at(path, step);
    }
  }
  if (inner?.is === 'either') inner = chosenIn(inner, path, fields);
  return inner?.is === 'line' || inner?.is === 'choice';
}

const chosenIn = (
  shape: Extract<FormShape, { is: 'either' }>,
  path: string,
  fields: TypedFields,
): FormShape | undefined => shape.shapes.find((one) => one.name === fields[`${path}:shape`])?.shape;

/** A button of a form that changes what it shows: `more:heats`, `less:heats[2]`, `open:certificate`, `shut:certificate`. */
export function changeForm(fields: TypedFields, action: string): TypedFields {
  const [what, path = ''] = action.split(/:(.*)/s);
  switch (what) {
    case 'more':
      return { ...fields, [`${row(path, rowsOf(fields, path))}:row`]: '1' };
    case 'open':
      return { ...fields, [`${path}:open`]: '1' };
    case 'shut':
      return kept(fields, (name) => (isWithin(name, path) ? undefined : name));
    case 'less':
      return withoutRow(fields, path);
    default:
      return fields;
  }
}

function withoutRow(fields: TypedFields, path: string): TypedFields {
  const list = path.slice(0, path.lastIndexOf('['));
  const gone = rowIn(path, list);
  if (gone === undefined) return fields;
  return kept(fields, (name) => {
    const index = rowIn(name, list);
    if (index === undefined || index < gone) return name;
    const rest = name.slice(row(list, index).length);
    return index === gone ? undefined : `${row(list, index - 1)}${rest}`;
  });
}

function kept(fields: TypedFields, rename: (name: string) => string | undefined): TypedFields {
  const names = Object.entries(fields).flatMap(([name, value]) => {
    const to = rename(name);
    return to === undefined ? [] : [[to, value] as const];
  });
  return Object.fromEntries(names);
}
