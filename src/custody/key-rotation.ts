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
  store.becomeService();
  const { folder, key } = store;
  const next = InstallationKey.prepare(folder.path);
  await store.change(actor, async (change) => {
    const endorsement = key.sign(next.fingerprint).toString('base64');
    await change.events.add(
      {
        type: 'key-made',
        purpose: 'installation',
        fingerprint: next.fingerprint,
        publicPem: next.publicPem,
        replaces: key.fingerprint,
        endorsement,
      },
      given,
    );
    // Inside the change: after a crash the folder has either key, and one that the trail lacks is named at the next start.
    InstallationKey.takeOver(folder.path);
  });
  return { replaced: key.fingerprint, fingerprint: next.fingerprint };
}
