import { z } from 'zod';
import { typedAs } from './form-sense.js';
import { happened } from './happened.js';

/**
 * The field types that all kinds share. A YAML file is read with every plain number kept as text (`0.10` stays `0.10`,
 * heat `0417` stays `0417`), so the numeric types here accept text and, from JSON, numbers.
 */

export const CODE_SYNTAX =
  'at most 60 letters, digits, dots, dashes and underscores, with a letter or a digit first and last';

/** Identifier a person gave. Never a path. */
export const Code = typedAs(
  'code',
  z
    .union([z.string(), z.number()])
    .transform(String)
    .pipe(
      z.string().regex(/^[\p{L}\p{N}](?:[\p{L}\p{N}._-]{0,58}[\p{L}\p{N}])?$/u, {
        error: `an identifier: ${CODE_SYNTAX}`,
      }),
    )
    .refine((code) => code === code.normalize('NFC'), { error: 'an identifier of composed letters (Unicode NFC)' })
    .describe('identifier'),
);

/** Of one text, in UTF-16 units. */
export const LONGEST_TEXT = 4000;

/** Free text on one or several lines; control characters are refused because they cannot be printed. */
export const Text = typedAs(
  'text',
  z
    .string()
    .trim()
    .min(1, 'some text')
    .max(LONGEST_TEXT, `at most ${LONGEST_TEXT} characters`)
    .refine((text) => !hasControlCharacter(text), { error: 'text without control characters' })
    .describe('text'),
);

function hasControlCharacter(text: string): boolean {
  for (const character of text) {
    const code = character.codePointAt(0)!;
    if (code === 0x7f || (code < 0x20 && code !== 0x0a && code !== 0x09)) return true;
  }
  return false;
}

export const DECIMAL = /^[+-]?(?:\d+(?:\.\d+)?|\.\d+)(?:[eE][+-]?\d{1,3})?$/;

/** A decimal number, kept as the text that was given: `215`, `0.10`, `-120`. */
export const Decimal = typedAs(
  'decimal',
  z
    .union([z.string(), z.number()])
    .transform(String)
    .pipe(z.string().regex(DECIMAL, { error: 'a decimal number with a point, such as 0.10' }))
    .refine((text) => Number.isFinite(Number(text)), { error: 'a number below 1.8e308' })
    .describe('decimal number'),
);

export const PositiveDecimal = Decimal.refine((text) => Number(text) > 0, { error: 'a number above zero' }).describe(
  'decimal number above zero',
);

export const NotNegative = Decimal.refine((text) => Number(text) >= 0, {
  error: 'a number that is not below zero',
}).describe('decimal number, not below zero');

/** What is left of something: above 0, at most all of it. */
export const PartLeft = PositiveDecimal.refine((text) => Number(text) <= 1, { error: 'a fraction of at most 1' });

/** A probability or a share that is neither nothing nor all. */
export const Share = Decimal.refine((text) => Number(text) > 0 && Number(text) < 1, {
  error: 'a share between 0 and 1, such as 0.95',
});

export const Sha256 = z
  .string()
  .regex(/^[0-9a-f]{64}$/, { error: 'a SHA-256: 64 hexadecimal digits, small letters' })
  .describe('SHA-256');

/** A whole number of at least `min`. */
export const whole = (min: number, max = 1_000_000_000) =>
  typedAs(
    'whole',
    z
      .union([z.string().regex(/^\d{1,10}$/, { error: 'a whole number' }), z.number().int()])
      .transform(Number)
      .pipe(z.number().int().min(min, `at least ${min}`).max(max, `at most ${max}`))
      .describe('whole number'),
  );

/** A moment with its offset from UTC, so that nobody has to guess a time zone. */
export const Moment = z.iso
  .datetime({ offset: true, error: 'a date and time with offset, such as 2026-03-02T08:15:00+01:00' })
  .describe('date and time with offset');

export const Day = z.iso.date({ error: 'a calendar date, such as 2026-03-02' }).describe('calendar date');

const PAST = 'not after it is taken in';

/** When something happened: refused while it lies ahead. A plain `Moment` or `Day` may be planned, due or valid until. */
export const PastMoment = happened(Moment).describe(`date and time with offset, ${PAST}`);

/** The day on which something happened. */
export const PastDay = happened(Day).describe(`calendar date, ${PAST}`);

/** A unit of measure as a UCUM code. Whether the code exists is checked at intake. */
export const Ucum = typedAs(
  'unit',
  z.string().min(1).max(40).describe('unit of measure, UCUM code (MPa, um, [ppm], %)'),
);

/** A path inside the folder that is taken in. What it points to is checked at intake. */
export const FilePath = typedAs(
  'file',
  z
    .string()
    .min(1)
    .max(300)
    .refine((path) => !path.startsWith('/') && !path.includes('\\') && !path.split('/').includes('..'), {
      error: 'a path inside this folder, with forward slashes',
    })
    .describe('path of a file inside this folder'),
);

export const Format = z
  .union([z.literal(1), z.literal('1')])
  .transform(() => 1 as const)
  .describe('version of this document format: 1');

/** Whose law it is. Written in one way only, because rules ask for it by name. */
export const Law = z
  .string()
  .regex(/^[A-Z]{2}$/, { error: 'two capital letters: EU, or the ISO 3166-1 code of a state, such as US' })
  .describe('law that holds: EU, or the ISO 3166-1 code of a state, such as US');

export const LegalRoute = z.enum(['market', 'patient-matched', 'custom-made', 'investigational', 'in-house']);

export const Side = z.enum(['left', 'right', 'midline', 'not sided']);

export const Layers = z
  .strictObject({ from: whole(0, 9_999_999), to: whole(0, 9_999_999) })
  .describe('layer range, both ends included');
export type Layers = z.infer<typeof Layers>;

/** A person and a time, as a file claims it. It decides nothing until it is signed in this program. */
export const Claim = z
  .strictObject({ by: Code.describe('code of the person'), at: PastMoment })
  .describe('who is said to have done it, and when: a claim until signed here');
export type Claim = z.infer<typeof Claim>;

/** An approval that a file claims. It counts when signed here, or when the signed original comes with it. */
export const Approval = Claim.extend({
  original: FilePath.optional().describe(
    'the signed original, kept as evidence, when it was approved elsewhere: it then counts without a signature here',
  ),
}).describe('who is said to have approved it, and when: a claim until signed here or approved elsewhere');
export type Approval = z.infer<typeof Approval>;

export const Reason = Text.optional().describe('why an already recorded value changes; needed only then');

/** An amount with its unit. */
export const Quantity = z
  .strictObject({ value: PositiveDecimal, ucum: Ucum })
  .describe('amount with its unit: grams and kilograms are counted as mass, the unit 1 as pieces');
export type Quantity = z.infer<typeof Quantity>;

export const Outcome = z.enum(['passed', 'failed']);

export const YesNo = z.enum(['yes', 'no']);

/** What material that comes in is for. */
export const MaterialCategory = z.enum([
  'powder',
  'gas',
  'peening media',
  'tool',
  'filter',
  'chemical',
  'coating material',
  'test medium',
  'packaging',
  'stock part',
  'other',
]);

/** What EN 10204 calls a certificate of metal, and what else comes with material. */
export const CertificateType = z
  .enum(['2.1', '2.2', '3.1', '3.2', 'gas analysis', 'other'])
  .describe('type by EN 10204 for metal');

/** What is done to parts after the build. */
export const StepAfterBuild = z.enum([
  'clean',
  'etch',
  'heat-treat',
  'coat',
  'passivate',
  'dry',
  'inspect',
  'pack',
  'sterilise',
]);
export type StepAfterBuild = z.infer<typeof StepAfterBuild>;

/** Steps that are done in loads: everything in one load had the same cycle. */
export const LoadStep = StepAfterBuild.exclude(['inspect']);

export const Implants = z.array(Code).min(1).describe('serials, of whatever lots');
export const Coupons = z.array(Code).min(1).describe('coupons, of whatever lots');

/** A reference to an entry of one of the kinds. */
export const thing = <K extends string>(kinds: readonly [K, ...K[]]) =>
  z.strictObject({ kind: z.enum(kinds), key: Text.describe('its code, as lists and traces show it') });

export const SpecificationRef = z.strictObject({ specification: Code, revision: whole(1) });
/** What a machine does to a part, and a recipe tells it to do. */
export const RecipeStep = z.enum(['deposit', 'peen', 'mill']);
export type RecipeStep = z.infer<typeof RecipeStep>;

export const MaterialRef = z
  .strictObject({ material: Code, revision: whole(1) })
  .describe('material specification to which it was ordered');

export const RecipeRef = z.strictObject({ recipe: Code, revision: whole(1) });
export const MethodRef = z.strictObject({ method: Code, revision: whole(1) });
export const ValidationRef = z.strictObject({ validation: Code, revision: whole(1) });
export const StudyRef = z.strictObject({ study: Code, revision: whole(1) });
export const DesignStudyRef = z.strictObject({ designStudy: Code, revision: whole(1) });
export const SoftwareRef = z.strictObject({ software: Code, revision: whole(1) });
export const EnvelopeRef = z.strictObject({ envelope: Code, revision: whole(1) });

/** Names that would bring a patient's identity into the store. Every schema refuses them; a case is a code. */
const PATIENT_FIELDS = new Set(
  [
    'patient patientname patientid patientnumber patientbirthdate birthdate dateofbirth dob born firstname surname',
    'familyname lastname givenname mrn medicalrecordnumber hospitalnumber insurancenumber socialsecuritynumber nhsnumber',
    'gender sex age patientinitials initials',
  ]
    .join(' ')
    .split(' '),
);

export function isPatientField(name: string): boolean {
  const bare = name.toLowerCase().replace(/[^a-z]/g, '');
  return PATIENT_FIELDS.has(bare) || bare.startsWith('patient');
}

/** The channel map by which a stream or the file of a logger is read. */
export const MapRef = z
  .strictObject({ map: Code, revision: whole(1) })
  .describe('the file is a stream of an open standard or of a logger, read by this channel map; our CSV when absent');
