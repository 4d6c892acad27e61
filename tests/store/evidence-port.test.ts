import fs from 'node:fs';
import path from 'node:path';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { EvidenceFolder } from '../../src/store/evidence/evidence-folder.js';
import type { EvidencePort } from '../../src/store/evidence/evidence-port.js';
import { EvidenceObjects } from '../../src/store/evidence/objects/evidence-objects.js';
import { objectPlace } from '../../src/store/evidence/objects/object-place.js';
import { ObjectServer } from '../support/object-server.js';
import { temporaryFolder } from './open-store.js';

/** Every place for evidence, by how it is opened on a folder of its own. A further one is a line more. */
const PLACES: readonly (readonly [name: string, open: (folder: string) => EvidencePort])[] = [
  ['a folder', (folder) => new EvidenceFolder(path.join(folder, 'evidence'))],
  ['an object store', inObjects],
];

const server = new ObjectServer();
beforeAll(() => server.listen());
afterAll(() => server.close());

function inObjects(folder: string): EvidencePort {
  const { accessKeyId: key, secretAccessKey: secret } = server.credentials;
  // Each test has its own part of the bucket.
  const place = objectPlace(server.address(`cell/${path.basename(folder).toLowerCase()}`));
  return new EvidenceObjects(place, path.join(folder, 'evidence'), { credentials: () => ({ key, secret }) });
}

describe.each(PLACES)('evidence in %s', (_name, open) => {
  let folder: string;
  let remove: () => void;
  let port: EvidencePort;

  beforeEach(() => {
    ({ folder, remove } = temporaryFolder());
    fs.mkdirSync(path.join(folder, 'evidence'));
    port = open(folder);
  });
  afterEach(() => remove());

  /** A finished file, ready to be taken over. */
  const finished = (text: string): string => {
    const file = path.join(folder, `copy-${sha256Hex(text)}`);
    fs.writeFileSync(file, text, { mode: 0o444 });
    return file;
  };
  const read = async (name: string): Promise<string | undefined> => {
    const file = await port.get(name);
    return file === undefined ? undefined : fs.readFileSync(file, 'utf8');
  };
  /** Each hashes to its text, but for the last, of which the ending says that it is something else. */
  const NAMES = [sha256Hex('text 0'), `personal/${sha256Hex('text 1')}`, `${sha256Hex('gone')}.redacted`];

  it('gives back what was put, under each sort of name, also to whoever opens it next', async () => {
    await port.put(NAMES.map((name, index) => ({ name, file: finished(`text ${index}`) })));
    for (const at of [port, open(folder)]) {
      port = at;
      expect(await Promise.all(NAMES.map(read))).toEqual(['text 0', 'text 1', 'text 2']);
      expect(await port.list()).toEqual([...NAMES].sort());
    }
  });

  it('has nothing under other names, and lists nothing when it is new', async () => {
    expect(await port.list()).toEqual([]);
    await port.put([{ name: NAMES[0]!, file: finished('text 0') }]);
    for (const name of [`personal/${NAMES[0]}`, `${NAMES[0]}.redacted`, sha256Hex('other')]) {
      expect(await port.get(name)).toBeUndefined();
      expect(port.here(name)).toBeUndefined();
      expect(await port.faultOf(name, sha256Hex('other'))).toEqual({ code: 'is missing' });
    }
    expect(await port.sizesOf([NAMES[0]!, sha256Hex('other')])).toEqual(new Map([[NAMES[0], 6]]));
    await port.reach();
  });

  it('says whether the bytes are those of a hash, where they lie', async () => {
    await port.put([{ name: NAMES[0]!, file: finished('text 0') }]);
    expect(await port.faultOf(NAMES[0]!, sha256Hex('text 0'))).toBeUndefined();
    expect(await port.faultOf(NAMES[0]!, sha256Hex('text 1'))).toEqual({ code: 'was altered' });
  });

  it('keeps what is there when the name is put again, and takes an empty file', async () => {
    await port.put([{ name: NAMES[2]!, file: finished('first') }]);
    await port.put([{ name: NAMES[2]!, file: finished('second') }]);
    expect(await read(NAMES[2]!)).toBe('first');
    await port.put([{ name: sha256Hex(''), file: finished('') }]);
    expect(await read(sha256Hex(''))).toBe('');
    await port.put([]);
    expect(await port.list()).toHaveLength(2);
  });

  it('puts nothing of a file that is not there', async () => {
    await expect(port.put([{ name: NAMES[0]!, file: path.join(folder, 'absent') }])).rejects.toThrow('ENOENT');
    expect(await port.list()).toEqual([]);
  });

  it('removes one name and no other, and once is enough', async () => {
    await port.put(NAMES.map((name, index) => ({ name, file: finished(`text ${index}`) })));
    await port.remove(NAMES[1]!);
    await port.remove(NAMES[1]!);
    await port.remove(sha256Hex('never put'));
    expect(await port.get(NAMES[1]!)).toBeUndefined();
    expect(await port.list()).toEqual([NAMES[0], NAMES[2]].sort());
    await port.put([{ name: NAMES[1]!, file: finished('text 1') }]);
    expect(await read(NAMES[1]!)).toBe('text 1');
  });
});
