import type { SiteZone } from '../base/clock.js';
import type { FormShape } from '../kinds/form-shape.js';
import { referencedAt } from '../kinds/reference-fields.js';
import { capital } from '../report/phrases/capital.js';
import { ENTRY_FORMS } from '../report/phrases/entry-forms.js';
import { fieldHelp, fieldText } from '../report/phrases/field-words.js';
import type { Button, FieldNode, Fold, FormNode, GroupNode, KnownList, ListNode, Placed } from './form-nodes.js';
import { AT, at, isOpen, isWithin, rowsOf, type TypedFields } from './typed-fields.js';

export interface FormState {
  /** Of the document. */
  readonly kind: string;
  readonly fields: TypedFields;
  readonly errorsAt: (path: string) => readonly string[];
  readonly zone: SiteZone;
  /** Places, without their numbers, at which one of a few codes is chosen and none typed. */
  readonly offered?: Readonly<Record<string, readonly string[]>>;
  /** Whether parts that may be missing are open, all of them. */
  readonly allOpen?: boolean;
}

interface Place {
  readonly path: string;
  readonly label: string;
  readonly unit?: string;
  readonly mayMiss: boolean;
  /** Set for a row of a list. */
  readonly less?: Button;
}

/** @param hidden names of fields of the document itself that are not asked for. */
export function formParts(shape: FormShape, state: FormState, hidden: ReadonlySet<string>): FormNode[] {
  return partsOf(shape, '', state).filter((node) => !hidden.has(node.path));
}

function partsOf(shape: FormShape, path: string, state: FormState): FormNode[] {
  if (shape.is !== 'group') return [];
  return shape.fields
    .filter((field) => field.shape.is !== 'fixed')
    .map(({ name, shape: inner, mayMiss }) =>
      nodeOf(inner, { path: at(path, name), ...fieldText(name), mayMiss }, state),
    );
}

function nodeOf(shape: FormShape, place: Place, state: FormState): FormNode {
  if (shape.is === 'list') return listNode(shape, place, state);
  if (shape.is === 'group') return groupNode(shape, place, state);
  if (shape.is === 'either') return eitherNode(shape, place, state);
  return fieldNode(shape, place, state);
}

/** Names under which people tell more than a few words. */
const LONG =
  /^(?:says|why|reason|justification|cause|conclusion|rationale|answer|corrective|intendedUse|lessons|description)$/;

function fieldNode(shape: FormShape, { path, label, unit, mayMiss, less }: Place, state: FormState): FieldNode {
  const value = state.fields[path] ?? '';
  const sense = shape.is === 'line' ? shape.sense : undefined;
  const local = sense === 'moment' ? (value === '' ? '' : state.zone.local(value)) : undefined;
  const offered = state.offered?.[path.replaceAll(/\[\d+\]/g, '')];
  const isLong = sense === 'text' && (value.includes('\n') || value.length > 80 || LONG.test(lastName(path)));
  return {
    is: 'field',
    ...placed(shape, path, label, state, sense),
    name: path,
    value,
    mayMiss,
    unit: local === undefined ? unit : ENTRY_FORMS.clock(state.zone.name),
    type: local !== undefined ? 'moment' : sense === 'day' ? 'date' : isLong ? 'long' : 'text',
    local,
    known: sense === 'code' || sense === 'text' ? knownAt(path, state) : undefined,
    isFile: sense === 'file',
    options: shape.is === 'choice' ? choices(shape.options) : offered && codes(offered, value),
    less,
  };
}

function knownAt(path: string, { kind, fields }: FormState): KnownList | undefined {
  const beside = fields[`${path.replace(/key$/, '')}kind`];
  const found = referencedAt(kind, path, beside);
  return found && { ...found, id: `known-${found.kinds.join('-')}` };
}

/** Lists of codes that the fields of a form share, each once. */
export function knownLists(nodes: readonly FormNode[]): readonly KnownList[] {
  const lists = new Map<string, KnownList>();
  for (const field of fieldsIn(nodes)) if (field.known && !field.options) lists.set(field.known.id, field.known);
  return [...lists.values()];
}

const fieldsIn = (nodes: readonly FormNode[]): FieldNode[] =>
  nodes.flatMap((node) => (node.is === 'field' ? [node] : fieldsIn(node.is === 'group' ? node.parts : node.rows)));

function groupNode(shape: Extract<FormShape, { is: 'group' }>, place: Place, state: FormState): GroupNode {
  const { path, label, mayMiss, less } = place;
  const open = !mayMiss || less !== undefined || state.allOpen === true || isOpen(state.fields, path);
  const toggle = open
    ? { action: `shut:${path}`, text: ENTRY_FORMS.shut(label) }
    : { action: `open:${path}`, text: ENTRY_FORMS.open(label) };
  const names = shape.fields.map(({ name }) => name).join(' ');
  const parts = open ? partsOf(shape, path, state) : [];
  return {
    is: 'group',
    ...placed(shape, path, label, state),
    parts,
    isRow: less !== undefined && parts.every((part) => part.is === 'field'),
    isOpen: open,
    isPair: names === 'value ucum',
    button: less ?? (mayMiss ? toggle : undefined),
    show: undefined,
    fold: foldOf(path, parts, state),
  };
}

/** A part with more fields is folded, once something stands in it. */
const MOST_UNFOLDED = 4;
const MOST_SAID = 4;

function foldOf(path: string, parts: readonly FormNode[], { fields, errorsAt }: FormState): Fold | undefined {
  const inner = fieldsIn(parts);
  const said = inner.filter(({ value }) => value !== '').map(({ value, local }) => local?.replace('T', ' ') ?? value);
  if (inner.length <= MOST_UNFOLDED || said.length === 0) return undefined;
  const isWrong = [path, ...placesIn(parts)].some((place) => errorsAt(place).length > 0);
  return { isOpen: isWrong || isWithin(fields[AT] ?? '', path), says: said.slice(0, MOST_SAID).join(', ') };
}

const placesIn = (nodes: readonly FormNode[]): string[] =>
  nodes.flatMap((node) => [
    node.path,
    ...(node.is === 'field' ? [] : placesIn(node.is === 'group' ? node.parts : node.rows)),
  ]);

/** The lists and long parts of a form, for a way to each of them. */
export const partsToGoTo = (nodes: readonly FormNode[]): { readonly path: string; readonly text: string }[] =>
  fieldsIn(nodes).length <= MOST_AT_ONCE
    ? []
    : nodes.flatMap((node) => {
        if (node.is === 'field') return [];
        return [
          { path: node.path, text: node.is === 'list' ? ENTRY_FORMS.goTo(node.label, node.rows.length) : node.label },
        ];
      });
const MOST_AT_ONCE = 30;

function eitherNode(shape: Extract<FormShape, { is: 'either' }>, place: Place, state: FormState): GroupNode {
  const { path, label, mayMiss, less } = place;
  const name = `${path}:shape`;
  const chosen = shape.shapes.find((one) => one.name === state.fields[name]);
  const which: FieldNode = {
    is: 'field',
    path: name,
    label: ENTRY_FORMS.either(label),
    help: undefined,
    errors: [],
    name,
    value: chosen?.name ?? '',
    mayMiss,
    unit: undefined,
    type: 'text',
    local: undefined,
    known: undefined,
    isFile: false,
    options: shape.shapes.map((one) => ({ value: one.name, text: ENTRY_FORMS.shape(one.name) })),
    less: undefined,
  };
  const inner =
    chosen === undefined || chosen.shape.is === 'fixed'
      ? []
      : chosen.shape.is === 'group'
        ? partsOf(chosen.shape, path, state)
        : [nodeOf(chosen.shape, { path, label, mayMiss: false }, state)];
  return {
    is: 'group',
    ...placed(shape, path, label, state),
    parts: [which, ...inner],
    isOpen: true,
    isPair: false,
    isRow: false,
    button: less,
    show: { action: `show:${path}`, text: ENTRY_FORMS.showShape },
    fold: undefined,
  };
}

function listNode(shape: Extract<FormShape, { is: 'list' }>, place: Place, state: FormState): ListNode {
  const { path, label, mayMiss } = place;
  const rows = Math.max(rowsOf(state.fields, path), mayMiss || shape.mayBeEmpty ? 0 : 1);
  const paths = Array.from({ length: rows }, (_, index) => `${path}[${index}]`);
  return {
    is: 'list',
    ...placed(shape, path, label, state),
    mayMiss: mayMiss || shape.mayBeEmpty,
    rows: paths.map((row, index) => {
      const name = ENTRY_FORMS.row(label, index + 1);
      const less = { action: `less:${row}`, text: ENTRY_FORMS.less(name) };
      return nodeOf(shape.item, { path: row, label: name, mayMiss: false, less }, state);
    }),
    kept: paths.map((row) => `${row}:row`),
    more: { action: `more:${path}`, text: ENTRY_FORMS.more(label) },
  };
}

const placed = (shape: FormShape, path: string, label: string, state: FormState, sense?: string): Placed => ({
  path,
  label,
  help: fieldHelp(shape.help, sense),
  errors: state.errorsAt(path),
});

const choices = (options: readonly string[]) => options.map((value) => ({ value, text: capital(value) }));

/** What is there already stays in the list, or it would be lost without a word. */
const codes = (offered: readonly string[], value: string) =>
  [...new Set([...offered, ...(value === '' ? [] : [value])])].map((code) => ({ value: code, text: code }));

const lastName = (path: string): string => path.slice(path.lastIndexOf('.') + 1);

/** Fields that name a file, with what the form calls them: `Certificate, file`. */
export function filePlaces(nodes: readonly FormNode[], around: readonly string[] = []): FilePlace[] {
  return nodes.flatMap((node) => {
    if (node.is === 'field') return node.isFile ? [{ path: node.path, label: [...around, node.label].join(': ') }] : [];
    const inner = node.is === 'group' ? node.parts : node.rows;
    const isRow = /\]$/.test(node.path);
    return filePlaces(
      inner,
      node.is === 'list' || around.length === 0 || isRow ? [node.label] : [...around, node.label],
    );
  });
}
export interface FilePlace {
  readonly path: string;
  readonly label: string;
}

/** What the form calls a place, for the list of problems: the nearest around it that it shows. */
export function labelsOf(nodes: readonly FormNode[]): ReadonlyMap<string, string> {
  const labels = new Map<string, string>();
  const visit = (node: FormNode): void => {
    if (!labels.has(node.path)) labels.set(node.path, node.label);
    if (node.is !== 'field') for (const inner of node.is === 'group' ? node.parts : node.rows) visit(inner);
  };
  for (const node of nodes) visit(node);
  return labels;
}
