import type { SignedStatement } from '../dossier/statement.js';
import type { TieName } from '../kinds/ties.js';
import type { Change } from '../store/repositories.js';
import type { Signable } from './signable.js';

interface ActLink {
  readonly name: TieName;
  readonly to: { readonly kind: string; readonly key: string };
  readonly revision?: number | undefined;
}

/**
 * Records an act as an entry of its own, tied to its person and to what it is on: so a trace leads from a person to all
 * that rests on what they signed, and from an implant to whoever signed for it.
 */
export async function recordAct(
  change: Change,
  signed: SignedStatement,
  signables: readonly Signable[],
): Promise<void> {
  const { statement, digest } = signed;
  const { meaning, step, person, at, units } = statement;
  const links = new Map<string, ActLink>();
  for (const link of [
    { name: 'signed by' as const, to: { kind: 'person', key: person.code } },
    ...signables.map(linkTo),
    ...(units.length > 0 ? units : signables.flatMap(implantsOf)).map((serial) => ({
      name: 'signed on' as const,
      to: { kind: 'implant', key: serial },
    })),
  ]) {
    links.set(JSON.stringify(link), link);
  }
  await change.entries.add({
    kind: 'act',
    key: digest,
    name: `${meaning}${step === null ? '' : ` for ${step}`} by ${person.code}, ${at.slice(0, 10)}`,
    body: { statement: digest, meaning, person: person.code, at },
    links: [...links.values()],
  });
}

/** A finding is decided for the implants that it touches; a lot file is signed for all of its own, unless some are named. */
const implantsOf = ({ assessed, touches = [] }: Signable): readonly string[] =>
  assessed === undefined ? touches : assessed.facts.lot.body.implants.map(({ serial }) => serial);

/** A finding, and a frozen lot file, are known by the lot; a certificate and a training by the document they stand in. */
function linkTo({ subject: { kind, key, revision }, lot }: Signable): ActLink {
  if (kind === 'qualification') {
    return { name: 'training signed of', to: { kind: 'person', key: key.slice(0, key.indexOf(':')) } };
  }
  if (kind === 'certificate') return { name: 'signed on', to: { kind: 'receipt', key } };
  if (kind !== 'result-set' && lot !== null) return { name: 'signed on', to: { kind: 'lot', key: lot } };
  return { name: 'signed on', to: { kind, key }, revision: revision ?? undefined };
}
