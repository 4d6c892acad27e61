import { AppError } from '../base/errors.js';
import { revisionKey } from '../dossier/facts.js';
import { covers } from '../dossier/statement.js';
import type { BodyOf } from '../kinds/catalogue.js';
import type { Approval } from '../kinds/fields.js';
import { PREPARE_REFUSALS } from '../report/phrases/prepare-refusals.js';
import type { StoredRevision } from '../store/entries.js';
import type { Reads } from '../store/repositories.js';

/** What a lot for a case rests on, all of it in force. */
export interface Basis {
  readonly case: StoredRevision<'case'>;
  readonly design: StoredRevision<'case-design'>;
  /** SHA-256 of the accepted model. */
  readonly model: string;
  readonly recipe: StoredRevision<'recipe'>;
  readonly specification: StoredRevision<'specification'>;
  readonly family: BodyOf<'family'>;
}

/**
 * @param now moment at which recipe and specification have to be in force.
 * @throws NotFoundError without such a case; AppError REFUSED, which says what is missing and who brings it.
 */
export async function basisFor(read: Reads, code: string, now: string): Promise<Basis> {
  const prescribed = await read.entries.currentOrThrow('case', code);
  const { status, designIteration, family } = prescribed.body;
  if (status !== undefined && status.is !== 'open') refuse(PREPARE_REFUSALS.notOpen(code, status.is, status.at));
  const design = await read.entries.revision('case-design', code, designIteration);
  if (design === undefined) return refuse(PREPARE_REFUSALS.noDesign(code, designIteration));
  const model = await acceptedModel(read, design);
  const { recipe: key, revision } = design.body.recipe;
  const recipe = await read.entries.revision('recipe', key, revision);
  if (recipe === undefined) return refuse(PREPARE_REFUSALS.noRecipe(code, revisionKey(key, revision)));
  if (!(await isInForce(read, recipe, now))) refuse(PREPARE_REFUSALS.recipeNotApproved(revisionKey(key, revision)));
  const specification = await specificationOf(read, family, now);
  const device = await read.entries.currentOrThrow('family', family);
  return { case: prescribed, design, model, recipe, specification, family: device.body };
}

function refuse(says: string): never {
  throw new AppError('REFUSED', says);
}

/** The prescriber accepted exactly the model from which it will be built. */
async function acceptedModel(read: Reads, design: StoredRevision<'case-design'>): Promise<string> {
  const { key, revision } = design;
  const acceptance = await read.entries.current('design-acceptance', `${key}:${revision}`);
  if (acceptance === undefined) return refuse(PREPARE_REFUSALS.notAccepted(key, revision));
  const { model } = acceptance.body;
  const named = await read.entries.evidenceNamedBy([design]);
  const models = named.filter(({ name }) => name === 'model').map(({ sha256 }) => sha256);
  if (!models.includes(model)) refuse(PREPARE_REFUSALS.anotherModel(key, revision));
  return model;
}

/** Approved by a signature here, or elsewhere with the signed original; effective, and not withdrawn. */
async function isInForce(
  read: Reads,
  { kind, key, revision, digest, body }: StoredRevision<'recipe'> | StoredRevision<'specification'>,
  now: string,
): Promise<boolean> {
  const approval: Approval | undefined = body.approval;
  if (Date.parse(body.effectiveFrom) > Date.parse(now)) return false;
  const withdrawn = (await read.events.of({ kind, key })).some(
    ({ event }) => event.type === 'document-withdrawn' && event.revision === revision,
  );
  if (withdrawn) return false;
  if (approval?.original !== undefined) return true;
  const signed = await read.signatures.of({ kind, key });
  return signed.some(({ signed: { statement } }) => statement.meaning === 'approved' && covers(statement, digest));
}

/** The newest revision in force of the one specification of the family. */
async function specificationOf(read: Reads, family: string, now: string): Promise<StoredRevision<'specification'>> {
  const own = (await read.entries.allRevisions('specification')).filter(({ body }) => body.family === family);
  const inForce: StoredRevision<'specification'>[] = [];
  for (const one of own) if (await isInForce(read, one, now)) inForce.push(one);
  const names = [...new Set(inForce.map(({ key }) => key))];
  if (names.length === 0) return refuse(PREPARE_REFUSALS.noSpecification(family));
  if (names.length > 1) refuse(PREPARE_REFUSALS.manySpecifications(family, names));
  return inForce.reduce((newest, one) => (one.revision > newest.revision ? one : newest));
}
