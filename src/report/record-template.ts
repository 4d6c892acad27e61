import { z } from 'zod';
import { BadInputError, type Problem } from '../base/errors.js';
import { readYamlText } from '../base/yaml-text.js';
import { askedForText } from './phrases/asked-for.js';

/** Cautions that every record prints, whatever else its template says. */
export const REQUIRED_CAUTIONS = [
  'clinical',
  'bench',
  'statistics',
  'coupons',
  'powder',
  'cell',
  'clauses',
  'signatures',
  'health',
  'unaltered',
  'undecided',
  'live',
  'copies',
  'metals',
  'sterilisation',
] as const;

/** Sections of a lot record. A template puts them in order and gives them titles; it leaves none out. */
export const SECTION_NAMES = [
  'cautions',
  'release',
  'identity',
  'documents',
  'materials',
  'recipe',
  'build',
  'peening-machining',
  'post-process',
  'inspection',
  'degradation',
  'statistics',
  'nonconformities',
  'reconciliation',
  'distribution',
  'audit-trail',
  'attachments',
  'signature-page',
] as const;
export type SectionName = (typeof SECTION_NAMES)[number];

const Words = z.string().trim().min(1, 'some words').max(2000, 'at most 2000 characters');
/** Every plain value of the file is read as text. */
const WholeNumber = z
  .string()
  .regex(/^[1-9]\d{0,8}$/, 'a whole number from 1')
  .transform(Number);

/** Which sections and cautions a template of this name has to have. */
export interface TemplateForm<Section extends string, Caution extends string> {
  readonly template: string;
  readonly sections: readonly [Section, ...Section[]];
  readonly cautions: readonly Caution[];
}

/** Order, titles, introductions and cautions of a record. */
export interface TemplateOf<Section extends string, Caution extends string> {
  readonly template: string;
  readonly revision: number;
  readonly cautions: Readonly<Record<Caution, string> & Record<string, string>>;
  readonly sections: readonly { readonly section: Section; readonly title: string; readonly introduction?: string }[];
}

const LOT_RECORD: TemplateForm<SectionName, (typeof REQUIRED_CAUTIONS)[number]> = {
  template: 'lot-record',
  sections: SECTION_NAMES as unknown as [SectionName, ...SectionName[]],
  cautions: REQUIRED_CAUTIONS,
};

export type RecordTemplate = TemplateOf<SectionName, (typeof REQUIRED_CAUTIONS)[number]>;
export type Cautions = RecordTemplate['cautions'];

const schemaOf = ({ template, sections, cautions }: TemplateForm<string, string>) =>
  z.strictObject({
    kind: z.literal('record-template'),
    format: z.literal('1').transform(() => 1 as const),
    template: z.literal(template),
    revision: WholeNumber,
    cautions: z.strictObject(Object.fromEntries(cautions.map((name) => [name, Words]))).catchall(Words),
    sections: z.array(
      z.strictObject({ section: z.enum(sections), title: Words.max(80), introduction: Words.optional() }),
    ),
  });

/** Schema of the template of the lot record. */
export const Template = schemaOf(LOT_RECORD);

/**
 * Reads the words of the lot record.
 * @throws BadInputError as `readTemplate`.
 */
export const parseTemplate = (text: string, file: string): RecordTemplate => readTemplate(LOT_RECORD, text, file);

/**
 * Reads the words of a record.
 * @param file how problems name the file.
 * @throws BadInputError naming line and field: a caution or a section left out, twice or empty, an unknown field, or
 *   text that is no YAML.
 */
export function readTemplate<Section extends string, Caution extends string>(
  form: TemplateForm<Section, Caution>,
  text: string,
  file: string,
): TemplateOf<Section, Caution> {
  const { read, problems: faults } = readYamlText(file, text);
  if (!read || faults.length > 0) return refuse(faults);
  const { value, lineAt } = read;
  const parsed = schemaOf(form).safeParse(value);
  if (!parsed.success) {
    refuse(parsed.error.issues.map((issue) => ({ file, line: lineAt(issue.path), ...saidOf(issue) })));
  }
  const template = parsed.data! as unknown as TemplateOf<Section, Caution>;
  const given = template.sections.map(({ section }) => section);
  const problems = sectionProblems(form.sections, given).map((problem) => ({
    ...{ file, line: lineAt(['sections']), ...problem },
  }));
  if (problems.length > 0) refuse(problems);
  return template;
}

function refuse(problems: readonly Problem[]): never {
  throw new BadInputError(problems);
}

function saidOf(issue: z.core.$ZodIssue): Problem {
  const field = issue.path.map(String).join('.');
  const missing = issue.code === 'invalid_type' && issue.message.endsWith('received undefined');
  if (missing && issue.path[0] === 'cautions') {
    return {
      code: 'caution-missing',
      field,
      found: 'nothing',
      expected: 'this caution: a record may word it differently, but not leave it out',
      remedy: 'put the caution back',
    };
  }
  if (issue.code === 'unrecognized_keys') {
    return {
      code: 'unknown-field',
      field: [field, ...issue.keys].filter(Boolean).join('.'),
      found: `the field "${issue.keys.join(', ')}"`,
      expected: 'only fields that this template knows',
      remedy: 'correct the spelling or remove it',
    };
  }
  return {
    code: missing ? 'missing-field' : 'field',
    field,
    found: missing ? 'nothing' : 'another value',
    expected: askedForText(issue),
    remedy: missing ? 'add the field' : 'correct the value',
  };
}

function sectionProblems(wanted: readonly string[], given: readonly string[]): Problem[] {
  const missing = wanted.filter((name) => !given.includes(name));
  const repeated = given.filter((name, index) => given.indexOf(name) !== index);
  return [
    ...missing.map((name) => ({
      code: 'section-missing',
      field: 'sections',
      found: `no section "${name}"`,
      expected: 'every section once: one without facts says so',
      remedy: 'put the section back',
    })),
    ...repeated.map((name) => ({
      code: 'section-repeated',
      field: 'sections',
      found: `the section "${name}" a second time`,
      expected: 'every section once',
      remedy: 'remove one of the two',
    })),
  ];
}
