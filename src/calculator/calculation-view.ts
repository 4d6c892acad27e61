import type { AnyCalculation } from '../calculations/calculation.js';
import { type CalcField, type CalcShape, calcShape } from '../calculations/calculation-shape.js';
import { placeOf, type TypedCalc, type WrongField } from '../calculations/typed-input.js';
import type { Button, FieldNode, FormNode, GroupNode } from '../entry/form-nodes.js';
import { CALCULATION_FORM, calculationFaultText } from '../report/phrases/calculation-form.js';
import { capital } from '../report/phrases/capital.js';
import { fieldText } from '../report/phrases/field-words.js';
import type { FormError } from '../web/form-errors.js';
import { AS_JSON } from './calculation-schemas.js';

/** Boxes to tick, of one name. */
export interface TicksNode {
  readonly is: 'ticks';
  readonly path: string;
  readonly label: string;
  readonly help: string | undefined;
  readonly errors: readonly string[];
  readonly options: readonly { readonly value: string; readonly isTicked: boolean }[];
}

export type CalcNode = FormNode | TicksNode;

/** A calculation may be asked of a long list. */
const LONGEST_LIST = 200_000;

interface State {
  readonly typed: TypedCalc;
  readonly wrong: readonly WrongField[];
}

/** The fields of a calculation, with what was typed into them; one of several shapes begins with its choice. */
export function calculationForm(calculation: AnyCalculation, state: State): { nodes: CalcNode[]; show: Button | null } {
  const shape = calcShape(calculation);
  if (shape.is === 'group') return { nodes: nodesOf(shape.fields, '', state), show: null };
  const chosen = shape.variants.find(({ value }) => value === state.typed[shape.by.name]);
  return { nodes: nodesOf([shape.by, ...(chosen?.fields ?? [])], '', state), show: showButton('') };
}

/** What is wrong, each thing with the field that it leads to. */
export function calculationErrors(calculation: AnyCalculation, { typed, wrong }: State): FormError[] {
  const labels = new Map([[AS_JSON, '']]);
  const visit = (nodes: readonly CalcNode[]): void => {
    for (const node of nodes) {
      labels.set(node.path, node.label);
      if (node.is === 'group') visit(node.parts);
    }
  };
  visit(calculationForm(calculation, { typed, wrong: [] }).nodes);
  return wrong.map(({ place, fault }) => {
    const label = labels.get(place);
    if (label === undefined) return { field: null, says: capital(calculationFaultText('', fault)) };
    return { field: place, says: calculationFaultText(label, fault) };
  });
}

const showButton = (place: string): Button => ({ action: `show:${place}`, text: CALCULATION_FORM.show });

const nodesOf = (fields: readonly CalcField[], within: string, state: State): CalcNode[] =>
  fields.map((field) => nodeOf(field, placeOf(within, field.name), state));

function nodeOf(field: CalcField, path: string, state: State): CalcNode {
  const { shape, meaning } = field;
  const { label, unit } = fieldText(field.name);
  const errors = state.wrong.flatMap(({ place, fault }) =>
    place === path ? [capital(calculationFaultText('', fault))] : [],
  );
  const help = helpOf(field);
  const typed = state.typed[path] ?? '';
  const placed = { path, label, help, errors };
  if (shape.is === 'ticks') {
    const ticked = typeof typed === 'string' ? [typed] : typed;
    const options = shape.options.map((value) => ({ value, isTicked: ticked.includes(value) }));
    return { is: 'ticks', ...placed, options };
  }
  if (shape.is === 'group')
    return groupNode({ ...placed, help: meaning === '' ? undefined : help }, shape.fields, state);
  if (shape.is === 'variants') {
    const chosen = shape.variants.find(({ value }) => value === state.typed[placeOf(path, shape.by.name)]);
    return { ...groupNode(placed, [shape.by, ...(chosen?.fields ?? [])], state), show: showButton(path) };
  }
  return {
    ...{ is: 'field', ...placed, name: path, mayMiss: field.mayMiss, unit },
    value: typeof typed === 'string' ? typed : typed.join(' '),
    type: shape.is === 'list' || shape.is === 'rows' || shape.is === 'json' ? 'long' : 'text',
    options: optionsOf(shape),
    ...{ local: undefined, known: undefined, isFile: false, less: undefined, most: LONGEST_LIST },
  };
}

function groupNode(
  placed: Pick<GroupNode, 'path' | 'label' | 'help' | 'errors'>,
  fields: readonly CalcField[],
  state: State,
): GroupNode {
  const parts = nodesOf(fields, placed.path, state).filter((node) => node.is !== 'ticks');
  const closed = { isPair: false, isRow: false, button: undefined, show: undefined, fold: undefined };
  return { is: 'group', ...placed, parts, isOpen: true, ...closed };
}

function optionsOf(shape: CalcShape): FieldNode['options'] {
  if (shape.is === 'yes or no') return ['yes', 'no'].map((value) => ({ value, text: capital(value) }));
  return shape.is === 'choice'
    ? shape.options.map((option) => ({ value: String(option), text: String(option) }))
    : undefined;
}

function helpOf({ shape, meaning, otherwise }: CalcField): string | undefined {
  const parts = [
    meaning,
    ...howTyped(shape),
    ...(otherwise === undefined || typeof otherwise === 'object'
      ? []
      : [CALCULATION_FORM.otherwise(otherwise === false ? 'no' : String(otherwise))]),
  ].filter((part) => part !== '');
  return parts.length === 0 ? undefined : CALCULATION_FORM.help(parts);
}

function howTyped(shape: CalcShape): string[] {
  if (shape.is === 'json') return [CALCULATION_FORM.json];
  if (shape.is === 'list') {
    return [[CALCULATION_FORM.values, CALCULATION_FORM.groups, CALCULATION_FORM.groupsOfGroups][shape.depth - 1]!];
  }
  if (shape.is !== 'rows') return [];
  const missing = shape.columns.filter(({ mayMiss }) => mayMiss).map(({ name }) => name);
  return [
    CALCULATION_FORM.rows(
      shape.columns.map(({ name }) => name),
      missing,
    ),
  ];
}
