import { z } from 'zod';
import type { JsonSchema } from '../base/json-schema.js';
import { CODE_SYNTAX } from './fields.js';
import type { Kind } from './kind.js';
import { limitsText } from './limits-doc.js';
import { LotStep } from './lot-after-build.js';
import { openFormatsText } from './open-formats-doc.js';

/**
 * JSON Schema (draft 2020-12) of what a document of this kind may say.
 * @param title what people call the kind.
 */
export function schemaOf(kind: Kind, title: string): Record<string, unknown> {
  const schema = z.toJSONSchema(kind.schema, { io: 'input', unrepresentable: 'any' }) as Record<string, unknown>;
  return { title, description: kind.purpose, ...schema };
}

/**
 * `docs/formats.md`: the folder format, and every kind field by field.
 * @param titleOf what people call a kind.
 * @param qualifications names of the qualifications that acts of signing ask for.
 */
export function formatsDocument(
  kinds: readonly Kind[],
  titleOf: (kind: string) => string,
  resultColumns: ResultColumns,
  qualifications: readonly string[],
): string {
  return [
    INTRODUCTION,
    LIMITS,
    openFormatsText(),
    resultSheetText(resultColumns),
    qualificationsText(qualifications),
    GIVEN_OUT,
    SITE,
    ...kinds.map((kind) => sectionText(kind, titleOf(kind.kind))),
  ].join('\n');
}

export interface ResultColumns {
  readonly required: readonly string[];
  readonly optional: readonly string[];
}

const LIMITS = `## Limits

All that the program takes is limited, by whatever way it comes, and what breaks a limit is refused by name before it takes
memory. Of a folder nothing is then stored.

${limitsText()}

Names are relative paths with forward slashes, in UTF-8. A name that is no UTF-8, one with a control character or one that
turns the direction of text, and two names that differ in how an accent is written are refused; so is every link, pipe,
socket and device. A file is found whichever way its accents are written. Names that begin with a dot are passed over and
told. A text with a character that no font of the record has is refused with the character and its place.

The page *Take in* and \`POST /api/v1/intake\` take the same folder, as files with their paths in it or as one ZIP that comes
alone. There no step of a path is \`.\` or \`..\`, none has a backslash or colon, and names are each once, also when capitals are
not told apart; none is both a file and a folder. Entries of a ZIP are files and folders, stored or deflated: nothing is
encrypted. Archives inside are refused, but for those that a document names.
`;

const GIVEN_OUT = `## What goes out

| what | command | page and API |
|---|---|---|
| every value of a lot, with sheet and line | \`results LOT\` | *tests* of the lot, \`/lots/LOT/results.csv\`, \`/api/v1/lots/LOT/results\` |
| a characteristic over its builds | \`trend CHARACTERISTIC --family F\` | \`/trend.csv\`, \`/api/v1/trend\` |
| a trace | \`trace ID\` | \`/find\`, \`/api/v1/trace/ID\` |
| an impact | \`impact ID\` | \`/impact.csv\`, \`/api/v1/impact/ID\` |

\`--format csv\` and the files are CSV of RFC 4180 in UTF-8 with commas and decimal points; a text that a spreadsheet would take
for a formula begins with an apostrophe. JSON follows the schemas in [schemas/answers](schemas/answers) (JSON Schema, draft
2020-12), of the commands with \`--json\` and of the API alike; the OpenAPI document of the service names all others.
`;

const INTRODUCTION = `# Formats

*Written by \`npm run docs\` from the schemas; a test fails when it is stale.*

## Folders

\`\`\`
site/                 outlives a lot: any YAML documents in any folders; each names its kind and format
lots/<code>/
  lot.yaml            the lot: builds, implants, coupons, what went in
  logs/*.csv[.gz]     timestamp, layer, zone, step, then one column a channel
  results/*.csv       result sheets
  exports/<profile>/* exports of instruments, read by the instrument profile that names the folder; they are the evidence
  exposures/*.csv     exposures in a test medium, one row an exposure of one specimen or piece
  …                   certificates and attachments that the documents name
exports/<lot>/<profile>/*  the same exports for a lot that is stored: nothing else has to come with them
\`\`\`

A commented document of each kind to fill in lies in \`templates/starters\`.

An identifier is ${CODE_SYNTAX};
letters and digits of any script that the fonts of the record have, and capitals are told apart. Files are UTF-8; a YAML document may be UTF-16
that begins with its mark. Each document is kept as it was received. In YAML a value that begins with
\`*\` stands in quotes: without them it is a reference.

Everything is read and checked before anything is stored: site documents in one transaction, each lot in one of its own.
The same bytes change nothing. Other bytes of a file that a recorded document names are refused as long as the document stays
the same: another file takes another name. Unquoted numbers are kept as they were written (\`0.10\`, heat \`0417\`). Documents with a
\`revision\` are never changed under the same number; all other entries are numbered by the store: a field added makes the
next revision, a field changed needs \`reason\`. Moments carry their offset from UTC; what happened cannot lie more than five
minutes after it is taken in, what is due or planned may. Units of measure are UCUM codes. A case
is a code: fields that identify a patient are refused by every schema; free text cannot be recognised, so never write a
patient's name there. An approval, acceptance or decision in a file is a claim: it
counts when it is signed in this program, or when the file says that it was approved elsewhere and brings the signed original.

## Process logs

CSV, plain or gzip: a header \`timestamp,layer,zone,step,<channel>…\`, mapped by name; timestamps with offset; strict
numbers; a blank cell or \`NaN\` is a missing value. The unit of a channel stands in lot.yaml, in a sidecar that lot.yaml
names (\`kind: log-units\`, \`format: 1\`, \`channels:\` with \`channel\` and \`ucum\`), or in a second line of the log that
begins with the cell \`ucum\`, leaves the next three empty and gives the unit of each channel. One place is enough; where
several say it, they must mean the same. Values are converted once, to the unit of the recipe. A dew point becomes parts
per million by volume only when lot.yaml says over what (ice or water) and which channel logs the pressure at the sensor:
over ice by IAPWS R14-08, over water by Sonntag (1990).

The zone is the name that lot.yaml gives to a zone of an implant or coupon. Layer, zone and step may be blank, as while
the chamber is purged or cools down: such a row, and one whose zone lot.yaml does not know, speaks for every implant and
coupon. Limits of a step hold only for rows that name zone and step; a row that names just one of the two, where the recipe
sets such limits, is a finding. A row that cannot be read is rejected with its number and reason, never guessed. Rejected
rows are a finding at action level wherever a limit had to be kept, over all zones and layers between the row before and
the row behind them.

A value holds until the next row; before a gap (longer than \`gapLimitMs\`), for \`nominalPeriodMs\`. An excursion begins
with the first value beyond a limit and runs on across layers, zones and steps. It ends with the first value that is on or
inside that limit, with a missing value, with a row for which that limit does not hold, with a gap, and with the log. It
counts from \`minimumDurationS\` on, or from \`integralLimit\` on, whichever it reaches first; with neither, at once.

What a scan finds is attached to a record as \`log-BUILD.json\`: rule, level, channel, times, places and steps of each
finding, and its \`facts\`, numbers and codes without a sentence. Where the rule does not say what exactly was found,
\`facts.what\` does, by its \`code\`, one of \`channel\`, \`zone\`, \`no zone named\`, \`step\`, \`no step named\`, \`too soon\`,
\`too short\`, \`too long\`, \`order\`, \`rejected\`, \`dew point\`, \`files\`, \`values\`, \`places\`, \`sequence numbers\`,
\`agent restarted\`, \`version\`, \`condition\`, with the names and numbers that belong to it. The \`id\` of a finding is the SHA-256
over all of that.
`;

const SITE = `## Documents of the site

An entry that has no code of its own is known by several with a colon between them: \`case:iteration\` for the acceptance
of a design, \`serial:n\` for what became of a unit, \`family:name\` for a baseline, \`specimen:piece:exposure\` for an
exposure (\`specimen:exposure\` where the specimen was not cut). A design and a support window have the code of their case.

What a document of a case says, and every file that it names, stands in the part of that case alone, and a copy for the
institution of another case carries nothing of it. So a file that is of one case is named by the case, under
\`attachments\`; those of a lot are of the lot as a whole, and their paths and titles go into every copy, as all that \`lot.yaml\`
says does.

Exposures are documents like all others and no table: what a rate rests on (masses, area, times, medium, gas, temperature)
is stored as it was measured, and rates are computed from it. An exposure that runs has no \`to\`; taken in again with its
end and its values it becomes the next revision.

Those of a lot come in sheets, \`exposures/*.csv\`, one row an exposure: its columns are the fields of an exposure by their
paths, such as \`massG.afterCleaning\`, without \`kind\`, \`format\`, \`specimenIs\` and \`evidence\`, which follow from the lot and
the sheet. \`exposure\` is a whole number, \`instruments\` are parted by blanks, an empty cell is a field that is left out. A row
that has ended gives a result for each characteristic with \`source: exposure\` of its method and zone class: the rate in
mm/a by mass loss, else by tomography, else by hydrogen, with its standard uncertainty where that of what was lost is given
(\`uncertainty.massG\`, \`volumeMm3\` or \`volumeMl\`); never by a current alone. Where the method states a duration,
exposures of other durations (by more than \`within\`, or 2 %) tell of the loss against time alone. Values of such a
characteristic are never typed into a result sheet.

Scanned shapes stand under \`scans\` of a lot: points as PLY (Stanford polygon format 1.0: \`ascii\`, \`binary_little_endian\` or
\`binary_big_endian\`; \`x\`, \`y\`, \`z\` of the element \`vertex\`, all else is passed over) or as XYZ text: three coordinates a line,
parted by blanks, tabs or a comma, further columns passed over, lines that begin with \`#\` and empty ones skipped. The model of a
design, and the mesh of a zone, are STL (text, one solid in a file; or binary, whose size has to be what its head says). Units are
stated and never guessed. A scan against the design of its implant is measured when it comes in: the distance of each point
from the nearest triangle, positive outside, zone by zone, as given and laid on the model by least squares, both of which are
kept; \`alignment\` says which is judged. Where zones of the design are \`datum\`, a fit is made to the points of these alone, and a scan that shows nothing of one of them is not judged at all. A
\`matrix\` is applied before all else, its shift in the unit of the coordinates. Points farther than a twentieth of the model from
end to end are of no surface and are counted apart. A scan that fits the model four times better mirrored, turned by a half, or in
another unit, and one that lies elsewhere are refused with what was found. A scan with \`when: final\` gives a result for each characteristic on the implant with \`source: shape\`: in a unit of length
how far the worst point lies from the design, else the share of points outside the profile (\`profileMm\` on either
side, that is half of a tolerance t of ISO 1101 or ASME Y14.5; \`profileInsideMm\` where it is not the same inside) of the zones of
its class. \`standardUncertaintyMm\` of a point becomes that of the worst point; of a share it is half of what the share changes
between a profile narrower and one wider by it.

An implant or a coupon may name under \`builtOn\` the stock part on which it was built. Where that has a \`mesh\`, in the frame of the
model of the design, a place of the model that lies within a thousandth of its diagonal of the mesh is of the stock, all else was
built: points are counted for the one or the other by the place of the model that is nearest to them, and each zone is told twice. A scan with \`against: what: scan\` that
names a scan with \`against: what: stock part\` of the same implant is compared with it, on the surface that both meshes share: it is
cut into 250 squares or so, and of each square in which both scans have three points the mean distance of the earlier one is taken
from that of the later one. The earlier scan is measured from the mesh of the stock, the later one from the model; a fit is made to points of that surface alone.
Where another closed body of the model covers that surface, or touches it from the other side, nothing of it is compared. What the earlier scan shows, with ten points and more to be expected, and the later one does not within its reach, is told as a share, and with a limit of change judged: it moved farther, is gone or covered, or was not scanned. Of a unit that went on in another lot the earlier scan is that of the lot in which it was built; what a later lot was compared with is not replaced by other points, not laid otherwise and not taken away.
A stock part is built on once, and again only after its \`takenOff\` says that the metal is off, its face was made ready and it was accepted once
more; what was implanted, or left the cell, is never one. What an implant was made of was asked of its own lot: its receipts are told, and not asked again. Where a certificate of one is corrected after that build, each later lot that rests on it is asked for an impact (check \`corrections-judged\`), and what was frozen before stays as it was.

Scans of prescriptions, images, reports of institutions and reports to authorities are personal data: their bytes are
kept apart, and their file names nowhere.
\`kind\`, \`key\` and \`revision\` of a reference to any entry are what lists and traces show. A revision that is named
must be there; running entries have theirs from the store.
`;

function resultSheetText({ required, optional }: ResultColumns): string {
  const list = (names: readonly string[]) => names.map((name) => `\`${name}\``).join(', ');
  return `## Result sheets

CSV in UTF-8 with commas and decimal points, one value a line, columns in any order. Required: ${list(required)}. Optional:
${list(optional)}. A value is kept as reported, with \`<\` or \`>\`. A row is known by specimen, piece, characteristic and
replicate; the same row with other facts needs \`reason\`, and a recorded row may not vanish.

Replicates are numbered from 1 on in each piece of a specimen: three pieces with one value each have three times the
replicate 1. The number that a specification plans (\`replicates\`) counts over all pieces of a specimen together. A number
left out below one that is there is a missing value, whatever the plan asks for.
`;
}

function qualificationsText(signing: readonly string[]): string {
  const steps = LotStep.shape.step.options.map((step) => `\`${step}\``).join(', ');
  return `## Names of qualifications

A qualification counts when its \`operation\` is, letter by letter, what is asked for. Who runs a build needs the
\`operation\` of the machine, or the code of the machine where it states none; who tests needs that of the method, or its
code; who does a step after the build needs the name of the step: ${steps}. For signing they
are: ${signing.map((name) => `\`${name}\``).join(', ')}.
`;
}

function sectionText(kind: Kind, title: string): string {
  const schema = schemaOf(kind, title) as JsonSchema;
  const numbering = kind.numbering === 'document' ? 'carries its own revision number' : 'numbered by the store';
  const rows = fieldRows(schema, '');
  return [
    `## ${title} (\`kind: ${kind.kind}\`)`,
    '',
    `${kind.purpose} ${numbering[0]!.toUpperCase()}${numbering.slice(1)}. JSON Schema: [schemas/${kind.kind}.json](schemas/${kind.kind}.json).`,
    '',
    '| field | needed | what |',
    '|---|---|---|',
    ...rows.map(
      ({ name, needed, what }) => `| \`${name}\` | ${needed ? 'yes' : ''} | ${what.replaceAll('|', '\\|')} |`,
    ),
    '',
  ].join('\n');
}

interface FieldRow {
  readonly name: string;
  readonly needed: boolean;
  readonly what: string;
}

function fieldRows(schema: JsonSchema, prefix: string): FieldRow[] {
  return Object.entries(schema.properties ?? {}).flatMap(([name, field]) => {
    const path = `${prefix}${name}`;
    const row = { name: path, needed: (schema.required ?? []).includes(name), what: whatText(field) };
    return [row, ...variantRows(field, path), ...innerRows(field, path)];
  });
}

function innerRows(field: JsonSchema, path: string): FieldRow[] {
  if (field.items) {
    const list = `${path}[]`;
    return [...variantRows(field.items, list), ...innerRows(field.items, list)];
  }
  const shapes = shapesOf(field);
  return shapes.length > 1 ? [] : shapes.flatMap((shape) => fieldRows(shape, `${path}.`));
}

/** The shapes of a choice among values and groups of fields, choices inside it unfolded. */
function shapesOf(field: JsonSchema): JsonSchema[] {
  const variants = field.oneOf ?? field.anyOf;
  return variants ? variants.flatMap(shapesOf) : [field];
}

/** A line for each shape of a choice, with its fields below; nothing where there is but one group of fields. */
function variantRows(field: JsonSchema, path: string): FieldRow[] {
  const shapes = shapesOf(field);
  if (shapes.length < 2 || !shapes.some((shape) => shape.properties)) return [];
  return shapes.flatMap((shape, index) => {
    const words = shape.description ? `: ${shape.description}` : '';
    const what = `${index === 0 ? 'either' : 'or'} ${shapeName(shape)}${words}`;
    const fields = fieldRows({ ...shape, properties: withoutConstants(shape) }, `${path}.`);
    return [{ name: path, needed: false, what }, ...fields];
  });
}

/** The name of a shape says its constant. */
const withoutConstants = ({ properties = {} }: JsonSchema): Record<string, JsonSchema> =>
  Object.fromEntries(Object.entries(properties).filter(([, field]) => field.const === undefined));

function shapeName({ const: value, properties = {} }: JsonSchema): string {
  if (value !== undefined) return `\`${String(value)}\``;
  const rule = Object.entries(properties).find(([, field]) => field.const !== undefined);
  const fields = Object.keys(properties).map((name) => `\`${name}\``);
  return rule ? `\`${rule[0]}: ${String(rule[1].const)}\`` : `fields ${fields.join(' and ')}`;
}

function whatText(field: JsonSchema): string {
  const said = field.description ?? field.items?.description ?? '';
  const values = field.enum ?? (field.const === undefined ? [] : [field.const]);
  const choice = values.length > 0 ? `one of ${values.map((value) => `\`${String(value)}\``).join(', ')}` : '';
  const list = field.type === 'array' ? 'list' : '';
  const text = [said, choice, list].filter(Boolean).join('; ');
  return text || (field.type === 'string' ? 'text' : 'group of fields');
}
