import { successionText } from '../ledger/key-chain.js';
import { givenReason } from '../people/reason.js';
import { InstallationKey } from '../store/installation-key.js';
import type { Store } from '../store/store.js';

export interface RotatedKey {
  readonly replaced: string;
  readonly fingerprint: string;
}

/**
 * Replaces the installation key. The audit trail names both fingerprints, and the old key signs the new one's, so that a
 * reader sees that whoever held the old key made the new one. The old private key is removed; its public one stays in
 * the audit trail, and everything that it signed stays valid.
 * @throws AppError BUSY while a service runs: it would go on with the old key.
 */
export async function rotateKey(store: Store, actor: string, reason: string): Promise<RotatedKey> {
  const given = givenReason(reason, 'say why the key changes');
  await store.standAlone();
  const { folder, key } = store;
  const next = key.prepareNext(folder.path);
  const { fingerprint, publicPem } = next;
  const text = successionText({ replaces: key.fingerprint, fingerprint });
  await store.change(actor, (change) =>
    change.events.add(
      {
        type: 'key-made',
        purpose: 'installation',
        fingerprint,
        publicPem,
        replaces: key.fingerprint,
        endorsement: key.sign(text).toString('base64'),
        acceptance: next.sign(text).toString('base64'),
      },
      given,
    ),
  );
  // When the program ends in between, the next start sees a prepared key that the trail names.
  InstallationKey.takeOver(folder.path);
  return { replaced: key.fingerprint, fingerprint: next.fingerprint };
}
