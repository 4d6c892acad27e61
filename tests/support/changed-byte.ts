import fs from 'node:fs';
import path from 'node:path';
import { temporaryFolder } from './cell.js';

/** A copy of a folder with evidence, in which one bit of one file is another. */
export function withChangedByte(evidence: string, sha256: string): string {
  const copy = path.join(temporaryFolder('evidence'), 'all');
  fs.cpSync(evidence, copy, { recursive: true });
  const name = fs
    .readdirSync(copy, { recursive: true, encoding: 'utf8' })
    .find((file) => path.basename(file).startsWith(sha256))!;
  const file = path.join(copy, name);
  const bytes = fs.readFileSync(file);
  bytes[bytes.length - 3]! ^= 1;
  fs.chmodSync(file, 0o600);
  fs.writeFileSync(file, bytes);
  return copy;
}
