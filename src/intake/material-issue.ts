import { sumDecimals } from '../base/decimal.js';
import { AppError, BadInputError, type Problem } from '../base/errors.js';
import type { Build } from '../kinds/lot.js';
import { lot as lotKind } from '../kinds/lot-document.js';
import { ISSUE } from '../report/phrases/material-issue.js';
import type { Reads } from '../store/repositories.js';
import type { MadeDocument } from './made-documents.js';

/** One line of an issue: what was scanned, how much of it, and the build that is planned with it. */
export interface MaterialIssue {
  readonly code: string;
  /** Grams; empty for what is not weighed. */
  readonly massG: string;
  readonly build: string;
}

/** In which step a consumable touches the parts; what is used in loads is named by the loads. */
const STEP_OF = { tip: 'peen', 'peening media': 'peen', 'milling tool': 'mill' } as const;

type Issued = Pick<Build, 'powder' | 'gas' | 'consumables'>;

/**
 * The lot of a planned build with one more thing issued to it.
 * @throws AppError NOT_FOUND without such a build, REFUSED where it is no plan any more or its lot has files of its own;
 * BadInputError for a code that is nothing a build takes, and for powder without its mass.
 */
export async function issuedLot(
  read: Reads,
  { code: scanned, massG, build: key }: MaterialIssue,
): Promise<MadeDocument> {
  const code = scanned.trim();
  const { body } = await read.entries.currentOrThrow('build', key);
  if (body.state !== 'planned') throw new AppError('REFUSED', ISSUE.built(key), { build: key });
  const stored = await read.entries.currentOrThrow('lot', body.lot);
  if (lotKind.files(stored.body).length > 0) throw new AppError('REFUSED', ISSUE.hasFiles(body.lot), { lot: body.lot });
  const more = await issuedTo(body, code, massG.trim(), read);
  const document = JSON.parse(stored.text) as { builds: Record<string, unknown>[] };
  const builds = document.builds.map((one) => (one.build === key ? { ...one, ...more } : one));
  return { file: `${body.lot}/lot.yaml`, document: { ...document, builds, reason: ISSUE.reason(code, key) } };
}

async function issuedTo(
  { powder, gas, consumables = [] }: Issued,
  code: string,
  massG: string,
  { entries }: Reads,
): Promise<Partial<Issued>> {
  const state = await entries.current('powder-state', code);
  if (state) {
    if (!/^\d+(?:\.\d+)?$/.test(massG) || Number(massG) <= 0) throw wrong('massG', massG || undefined, ISSUE.asksMass);
    const known = powder.find((one) => one.state === code);
    const chargedG = sumDecimals([known?.chargedG ?? '0', massG]);
    return { powder: [...powder.filter((one) => one !== known), { ...known, state: code, chargedG }] };
  }
  const receipt = await entries.current('receipt', code);
  if (receipt?.body.category === 'gas') return { gas: [...gas, { receipt: code }] };
  const consumable = await entries.current('consumable', code);
  if (consumable?.body.category === 'gas bottle') {
    const from = consumable.body.made.flatMap((taken) => ('receipt' in taken ? [taken.receipt] : []))[0];
    if (from === undefined) throw wrong('code', code, ISSUE.bottleOfNothing);
    return { gas: [...gas, { receipt: from, bottle: code }] };
  }
  const category = consumable?.body.category;
  if (category === 'tip' || category === 'peening media' || category === 'milling tool') {
    const known = consumables.find((one) => one.consumable === code && one.zones === undefined);
    const others = consumables.filter((one) => one !== known);
    const used = known ? { ...known, uses: (known.uses ?? 1) + 1 } : { consumable: code, step: STEP_OF[category] };
    return { consumables: [...others, used] };
  }
  throw wrong('code', code, ISSUE.takes);
}

const wrong = (field: string, found: string | undefined, expected: string): BadInputError => {
  const problem: Problem = { code: 'field', field, expected, remedy: ISSUE.remedy };
  return new BadInputError([found === undefined ? problem : { ...problem, found }]);
};
