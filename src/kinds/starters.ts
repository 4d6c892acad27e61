import { z } from 'zod';
import { type FormPart, type FormShape, formShape } from './form-shape.js';
import type { Kind } from './kind.js';

const WIDTH = 110;
const CHOICES_SHOWN = 12;

/**
 * A document of a kind to be filled in, as YAML: what is needed stands, what may be left out is commented out, and above
 * each field stands what it says. Its values are only placeholders of the right form.
 * @param title what people call the kind.
 */
export function starterText(kind: Kind, title: string): string {
  const place = kind.kind === 'lot' ? 'as lot.yaml into a folder of its own below lots/' : 'into a folder below site/';
  const head = [
    `A ${title} to fill in. ${kind.purpose}`,
    `Put it ${place}. What may be left out is commented out: take the # away that stands right before its name.`,
    'All values are placeholders.',
  ];
  const shape = formShape(kind.schema);
  if (shape.is !== 'group') throw new Error(`a document of kind ${kind.kind} is no group of fields`);
  return `${[...head.flatMap((line) => said(line, '')), ...shape.fields.flatMap((part) => fieldLines(part, '', false))].join('\n')}\n`;
}

/** An explanation: `# ` and words; a field that is commented out has its name right behind the `#`. */
const said = (text: string, indent: string): string[] =>
  wrapped(text, WIDTH - indent.length).map((line) => `${indent}# ${line}`);

function wrapped(text: string, width: number): string[] {
  const lines: string[] = [];
  for (const word of text.replace(/\s+/g, ' ').trim().split(' ')) {
    const last = lines.at(-1);
    if (last !== undefined && last.length + word.length < width) lines[lines.length - 1] = `${last} ${word}`;
    else lines.push(word);
  }
  return lines;
}

function fieldLines({ name, shape, mayMiss }: FormPart, indent: string, isOff: boolean): string[] {
  const off = isOff || mayMiss;
  const help = [shape.help, choicesOf(shape), otherShapes(shape)].filter((text) => text !== undefined).join('; ');
  const head = `${indent}${off ? '#' : ''}${name}:`;
  return [...(help === '' ? [] : said(help, indent)), ...valueLines(head, shape, name, indent, off)];
}

function valueLines(head: string, shape: FormShape, name: string, indent: string, off: boolean): string[] {
  switch (shape.is) {
    case 'fixed':
      return [`${head} ${scalar(shape.value)}`];
    case 'choice':
      return [`${head} ${scalar(shape.options[0]!)}`];
    case 'line':
      return [`${head} ${scalar(placeholder(shape, name))}`];
    case 'group':
      return [head, ...partLines(shape.fields, `${indent}  `, off)];
    case 'either':
      return valueLines(head, shape.shapes[0]!.shape, name, indent, off);
    case 'list':
      return [head, ...itemLines(shape, name, `${indent}  `, off)];
  }
}

/** Where a group that is needed has no field that is, its first one stands all the same. */
function partLines(fields: readonly FormPart[], indent: string, off: boolean): string[] {
  const isOpen = !off && fields.every(({ mayMiss }) => mayMiss);
  return fields.flatMap((part, index) =>
    fieldLines(isOpen && index === 0 ? { ...part, mayMiss: false } : part, indent, off),
  );
}

/** One item, or as many as a list has to have. */
function itemLines(list: Extract<FormShape, { is: 'list' }>, name: string, indent: string, off: boolean): string[] {
  const item = list.item.is === 'either' ? list.item.shapes[0]!.shape : list.item;
  const dash = `${indent}${off ? '#' : ''}-`;
  const help = [list.item.help, choicesOf(item), otherShapes(list.item)]
    .filter((text) => text !== undefined)
    .join('; ');
  const explained = help === '' ? [] : said(help, indent);
  if (item.is === 'group') return [...explained, dash, ...partLines(item.fields, `${indent}  `, off)];
  const [line, ...more] = valueLines(dash, item, name, indent, off);
  const second = item.is === 'line' && !isOneEnough(list, placeholder(item, name)) ? [line!.replace(/-1$/, '-2')] : [];
  return [...explained, line!, ...more, ...second];
}

const isOneEnough = ({ schema }: FormShape, value: string): boolean => z.safeParse(schema, [value]).success;

function choicesOf(shape: FormShape): string | undefined {
  if (shape.is !== 'choice' || shape.options.length < 2) return undefined;
  const more = shape.options.length - CHOICES_SHOWN;
  return `one of ${shape.options.slice(0, CHOICES_SHOWN).join(', ')}${more > 0 ? ` and ${more} more` : ''}`;
}

/** What else may stand there, with all the fields that it has. */
function otherShapes(shape: FormShape): string | undefined {
  if (shape.is !== 'either' || shape.shapes.length < 2) return undefined;
  const others = shape.shapes.slice(1).map(({ name, shape: other }) => {
    const names = namesIn(other);
    return names.length === 0 ? name : `fields ${names.join(', ')}`;
  });
  return `or instead: ${others.join('; or ')}`;
}

function namesIn(shape: FormShape): string[] {
  switch (shape.is) {
    case 'group':
      return shape.fields.flatMap((field) => [
        field.shape.is === 'fixed' ? `${field.name}: ${field.shape.value}` : field.name,
        ...namesIn(field.shape),
      ]);
    case 'list':
      return namesIn(shape.item);
    case 'either':
      return shape.shapes.flatMap((one) => namesIn(one.shape));
    default:
      return [];
  }
}

/** Tried one after the other, until one has the form that is asked for. */
const PLACEHOLDERS = [
  '1',
  'a-name',
  'a text',
  '0.5',
  '2',
  '10',
  '[ppm]',
  '0123456789ab',
  '0123456789abcdef'.repeat(4),
  '1.0.0',
  'EU',
  '01234567890128',
  '+01:00',
  'receipt:1',
  '2026-01-31',
  'https://example.org',
  '/a/b',
];

const BY_SENSE: Readonly<Record<string, readonly string[]>> = {
  unit: ['mm'],
  text: ['a text'],
  file: ['files/a-file.pdf'],
  moment: ['2026-01-31T08:00:00+01:00'],
  day: ['2026-01-31'],
};

function placeholder({ sense, schema }: Extract<FormShape, { is: 'line' }>, name: string): string {
  const code = `${name.replace(/s$/, '').toUpperCase()}-1`;
  const own = sense === 'code' ? [code] : (BY_SENSE[sense ?? ''] ?? []);
  const found = [...own, ...PLACEHOLDERS].find((value) => z.safeParse(schema, value).success);
  if (found === undefined) throw new Error(`no placeholder has the form of the field ${name}`);
  return found;
}

/** Plain where YAML reads it as the same text, else in quotes. */
const scalar = (value: string): string =>
  /^[\w./+-][\w ./+:()-]*$/.test(value) && !/: |\s$/.test(value) && !/^[-.]/.test(value)
    ? value
    : JSON.stringify(value);
