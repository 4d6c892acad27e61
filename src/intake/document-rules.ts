import type { Problem } from '../base/errors.js';
import { expectedUnit, isUnit } from '../base/units.js';
import { changeBetween, firstChange } from '../dossier/changes.js';
import { commonFields, numberOf } from '../kinds/common-fields.js';
import type { LinkDraft } from '../kinds/kind.js';
import { kindText } from '../report/phrases/kinds.js';
import type { Known } from './known.js';
import { fieldText, type ReadDocument } from './yaml-document.js';

/** What is wrong with documents in the light of the store and of each other. */
export async function documentProblems(documents: readonly ReadDocument[], known: Known): Promise<Problem[]> {
  const problems: Problem[] = [...repeatedKeys(documents)];
  const owners: Owners = new Map();
  for (const document of documents) {
    problems.push(...unitProblems(document));
    problems.push(...(await referenceProblems(document, known)));
    problems.push(...(await revisionProblems(document, known)));
    problems.push(...(await ownershipProblems(document, known, owners)));
  }
  return problems;
}

function repeatedKeys(documents: readonly ReadDocument[]): Problem[] {
  const seen = new Map<string, string>();
  return documents.flatMap(({ file, kind, body, lineOf }) => {
    const number = numberOf(kind, body);
    const revision = number === undefined ? '' : ` revision ${number}`;
    const name = `${kindText(kind.kind)} ${kind.key(body)}${revision}`;
    const first = seen.get(name);
    if (first === undefined) {
      seen.set(name, file);
      return [];
    }
    return [
      {
        code: 'duplicate-key',
        file,
        line: lineOf(kind.kind),
        field: kind.kind,
        found: `${name}, which ${first} has too`,
        expected: 'each one in one file',
        remedy: 'give one of the two a code of its own or remove it',
      },
    ];
  });
}

function unitProblems({ file, body, lineOf }: ReadDocument): Problem[] {
  const problems: Problem[] = [];
  const visit = (value: unknown, path: PropertyKey[]): void => {
    if (value === null || typeof value !== 'object') return;
    for (const [name, inner] of Object.entries(value)) {
      const step = Array.isArray(value) ? Number(name) : name;
      if (name === 'ucum' && typeof inner === 'string' && !isUnit(inner)) {
        const field = fieldText([...path, step]);
        problems.push({
          code: 'unit',
          file,
          line: lineOf(field),
          field,
          found: inner,
          expected: expectedUnit(inner, 'MPa, um, mm/s, %, [ppm] or ug/g'),
          remedy: 'write the unit as a UCUM code',
        });
      } else visit(inner, [...path, step]);
    }
  };
  visit(body, []);
  return problems;
}

async function referenceProblems({ file, kind, body, lineOf }: ReadDocument, known: Known): Promise<Problem[]> {
  const links: LinkDraft[] = [...kind.links(body), ...kind.declares(body).flatMap((item) => item.links)];
  const problems: Problem[] = [];
  for (const link of links) {
    if (await known.has(link.kind, link.key, link.revision)) continue;
    const what = `${kindText(link.kind)} ${link.key}${link.revision === undefined ? '' : ` revision ${link.revision}`}`;
    problems.push({
      code: 'unknown-reference',
      file,
      line: lineOf(link.field),
      field: link.field,
      found: what,
      expected: `a ${kindText(link.kind)} that is in the data folder or is taken in together with this file`,
      remedy: `take in ${what} first, or correct the spelling`,
    });
  }
  return problems;
}

/** A revision number is never used twice, and a recorded value never changes without a reason. */
async function revisionProblems({ file, kind, body, lineOf }: ReadDocument, known: Known): Promise<Problem[]> {
  const key = kind.key(body);
  const stored = await known.revisions(kind.kind, key);
  const revision = numberOf(kind, body);
  if (revision !== undefined) {
    const same = stored.find((item) => item.revision === revision);
    if (!same || changeBetween(same.body, body) === 'same') return [];
    const change = firstChange(same.body, body);
    return [
      {
        code: 'revision-content',
        file,
        line: lineOf(change?.field ?? 'revision'),
        field: change?.field ?? 'revision',
        found: `other content than revision ${revision} has in the data folder${change ? ` (there: ${change.was})` : ''}`,
        expected: 'the same content under the same revision number',
        remedy: `give the changed ${kindText(kind.kind)} the revision number ${stored.at(-1)!.revision + 1}`,
      },
    ];
  }
  const current = stored.at(-1);
  if (!current || changeBetween(current.body, body) !== 'changed') return [];
  if (commonFields(body).reason !== undefined) return [];
  const change = firstChange(current.body, body)!;
  return [
    {
      code: 'change-without-reason',
      file,
      line: lineOf(change.field),
      field: change.field,
      found: `another value than recorded (recorded: ${change.was})`,
      expected: 'a reason for the change',
      remedy: 'add the field "reason" to the document, or restore the recorded value',
    },
  ];
}

/** Which document of those that come in together was the first to declare an identity. */
type Owners = Map<string, ReadDocument>;

/** Serials, coupons and builds belong to one lot for ever. A second lot of a build names it and adds nothing to it. */
async function ownershipProblems(document: ReadDocument, known: Known, owners: Owners): Promise<Problem[]> {
  const { file, kind, body, lineOf } = document;
  const problems: Problem[] = [];
  for (const item of kind.declares(body)) {
    // A heat is named by every receipt of it.
    if (item.kind === 'heat') continue;
    const name = `${item.kind} ${item.key}`;
    const stored = (await known.revisions(item.kind, item.key)).at(-1);
    const first = owners.get(name) ?? document;
    owners.set(name, first);
    const storedIn = stored && commonFields(stored.body).lot;
    // A part that went on in another lot is still told of in the document of the lot in which it was built.
    const builtIn = storedIn && ((await known.body('lot', storedIn))?.splitFrom ?? storedIn);
    const owner = builtIn ?? first.kind.key(first.body);
    if (owner === kind.key(body)) continue;
    problems.push({
      code: 'identity-in-use',
      file,
      line: lineOf(item.field),
      field: item.field,
      found: `${name}, which belongs to lot ${owner}`,
      expected: 'an identity that was never used before',
      remedy: `give the ${item.kind} an identity of its own`,
    });
  }
  return problems;
}
