import {
  type Checkpoint,
  checkpointText,
  type Note,
  type NoteKey,
  noteKeysOf,
  originOf,
  signatureOf,
  writeNote,
} from '../ledger/checkpoint.js';
import { consistencyPlan, inclusionPlan, proofFrom } from '../ledger/proofs.js';
import type { InstallationKey } from './installation-key.js';
import type { Reads } from './repositories.js';

/** The ledger as it stands, signed. */
export interface SignedHead {
  readonly origin: string;
  readonly size: number;
  /** Root of the first `size` entries, hexadecimal. */
  readonly root: string;
  /** The C2SP checkpoint: what to keep, print or attach. */
  readonly checkpoint: string;
  readonly note: Note;
}

/** That an entry is in the ledger, for `verifyInclusion` with `index` = `seq − 1`. */
export interface InclusionProof {
  readonly seq: number;
  readonly size: number;
  /** Canonical text of the entry; `leafHash` of it is the leaf. */
  readonly entry: string;
  readonly proof: readonly string[];
}

/** That the ledger only grew, for `verifyConsistency`. */
export interface ConsistencyProof {
  readonly oldSize: number;
  readonly size: number;
  readonly proof: readonly string[];
}

/** Signs a head in the name of its origin. */
export function signedCheckpoint(key: InstallationKey, head: Checkpoint): SignedHead {
  const text = checkpointText(head);
  const signature = signatureOf({ name: head.origin, publicPem: key.publicPem }, key.sign(text));
  const note = { text, signatures: [signature] };
  return { ...head, checkpoint: writeNote(note), note };
}

/** Heads and proofs, from stored nodes: O(log n) reads however long the ledger. */
export class LedgerProofs {
  constructor(
    private readonly read: Reads,
    private readonly key: InstallationKey,
  ) {}

  /** The name under which heads of this data folder are signed. It stays when the key changes. */
  async origin(): Promise<string> {
    const [first] = await this.read.events.installationKeys();
    return originOf(first?.fingerprint ?? this.key.fingerprint);
  }

  /** Every key under which a head of this folder may have been signed, oldest first. */
  async keys(): Promise<NoteKey[]> {
    return noteKeysOf(await this.read.events.installationKeys());
  }

  /**
   * The ledger as it stands, signed by this installation.
   * @param atSize how many entries the head covers; all of them when absent.
   */
  async signedHead(atSize?: number): Promise<SignedHead> {
    const size = atSize ?? (await this.read.ledger.size());
    const origin = await this.origin();
    const root = await this.read.ledger.root(size);
    return signedCheckpoint(this.key, { origin, size, root });
  }

  /**
   * That entry `seq` (from 1) is among the first `size` entries.
   * @throws RangeError when there is no such entry in a ledger of that size; AppError ALTERED when a node is lost.
   */
  async inclusion(seq: number, size: number): Promise<InclusionProof> {
    const plan = inclusionPlan(seq - 1, size);
    const entry = await this.read.ledger.entry(seq);
    if (!entry) throw new RangeError(`there is no entry ${seq} in the ledger`);
    return { seq, size, entry: entry.body, proof: proofFrom(plan, await this.read.ledger.hashes(plan.flat())) };
  }

  /** The same of many entries, in their order, with their nodes read at once. */
  async inclusions(seqs: readonly number[], size: number): Promise<{ seq: number; entry: string; path: string[] }[]> {
    const plans = new Map(seqs.map((seq) => [seq, inclusionPlan(seq - 1, size)]));
    const hashOf = await this.read.ledger.hashes([...plans.values()].flat(2));
    return (await this.read.ledger.entries(seqs)).map(({ seq, body }) => ({
      ...{ seq, entry: body },
      path: proofFrom(plans.get(seq)!, hashOf),
    }));
  }

  /** That the first `oldSize` entries are still the beginning of the first `size`. */
  async consistency(oldSize: number, size: number): Promise<ConsistencyProof> {
    const plan = consistencyPlan(oldSize, size);
    return { oldSize, size, proof: proofFrom(plan, await this.read.ledger.hashes(plan.flat())) };
  }
}
