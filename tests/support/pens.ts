import { Proof } from '../../src/people/proof.js';
import { PASSWORD } from './people.js';
import type { Signer } from './person-keys.js';
import type { Services } from './services.js';

/** What signs with the keys of these test people, while `work` runs. */
export async function withPens<T>(
  services: Pick<Services, 'accounts'>,
  [person, ...others]: readonly string[],
  work: (pens: ReadonlyMap<string, Signer>) => Promise<T>,
  pens: ReadonlyMap<string, Signer> = new Map(),
): Promise<T> {
  if (person === undefined) return work(pens);
  const proof = await services.accounts.prove(person, PASSWORD);
  return Proof.signing(proof, (pen) => withPens(services, others, work, new Map([...pens, [person, pen]])));
}
