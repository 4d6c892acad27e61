import { createHash } from 'node:crypto';
import { parentPort } from 'node:worker_threads';

const hash = createHash('sha256');

/** Runs in a thread: takes pieces, says of each when it was read, and at null what all of them come to. */
parentPort!.on('message', (piece: Uint8Array | null) => {
  if (piece !== null) hash.update(piece);
  parentPort!.postMessage(piece === null ? hash.digest('hex') : null);
});
