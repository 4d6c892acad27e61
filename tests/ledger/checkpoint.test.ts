import { createPrivateKey, createPublicKey, sign } from 'node:crypto';
import {
  type Checkpoint,
  checkpointText,
  headLine,
  keyIdOf,
  type Note,
  type NoteKey,
  originOf,
  parseCheckpoint,
  parseHead,
  parseNote,
  readHead,
  signatureOf,
  verifierKeyOf,
  writeNote,
} from '../../src/ledger/checkpoint.js';

/** A raw Ed25519 public key as PEM: RFC 8410 puts these twelve bytes before its 32. */
const pemOfPublic = (raw: Buffer): string =>
  createPublicKey({
    key: Buffer.concat([Buffer.from('302a300506032b6570032100', 'hex'), raw]),
    format: 'der',
    type: 'spki',
  })
    .export({ type: 'spki', format: 'pem' })
    .toString();

/** `NAME+ID+BASE64`, whose bytes are the signature type and the public key. */
const keyFrom = (verifierKey: string): NoteKey => {
  const [name, , base64] = verifierKey.split('+', 3) as [string, string, string];
  return { name, publicPem: pemOfPublic(Buffer.from(base64, 'base64').subarray(1)) };
};

/** An Ed25519 seed as key: RFC 8410 puts these sixteen bytes before its 32. */
const privateKey = (seed: Buffer) =>
  createPrivateKey({
    key: Buffer.concat([Buffer.from('302e020100300506032b657004220420', 'hex'), seed]),
    format: 'der',
    type: 'pkcs8',
  });

const fault = (work: () => unknown): string => {
  try {
    work();
  } catch (error) {
    return (error as Error).message;
  }
  return 'nothing was refused';
};

describe('signed notes', () => {
  // Keys, text and signatures are those of the tests of the note package of the Go project (sumdb/note, note_test.go),
  // from which C2SP signed-note was written down; read from a public copy.
  const PETER = 'PeterNeumann+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW';
  const PETER_SEED = 'AYEKFALVFGyNhPJEMzD1QIDr+Y7hfZx09iUvxdXHKDFz';
  const ENOCH = 'EnochRoot+af0cfe78+ATtqJ7zOtqQtYqOo0CpvDXNlMhV3HeJDpjrASKGLWdop';
  const TEXT = "If you think cryptography is the answer to your problem,\nthen you don't know what your problem is.\n";
  const PETER_LINE =
    '— PeterNeumann x08go/ZJkuBS9UG/SffcvIAQxVBtiFupLLr8pAcElZInNIuGUgYN1FFYC2pZSNXgKvqfqdngotpRZb6KE6RyyBwJnAM=\n';
  const ENOCH_LINE =
    '— EnochRoot rwz+eBzmZa0SO3NbfRGzPCpDckykFXSdeX+MNtCOXm2/5n2tiOHp+vAF1aGrQ5ovTG01oOTGwnWLox33WWd1RvMc+QQ=\n';

  it.each([PETER, ENOCH])('name a key as the published %s does', (published) => {
    const key = keyFrom(published);
    expect(keyIdOf(key)).toBe(published.split('+')[1]);
    expect(verifierKeyOf(key)).toBe(published);
  });

  it('are written and signed as the published one, byte for byte', () => {
    const key = privateKey(Buffer.from(PETER_SEED, 'base64').subarray(1));
    const signature = signatureOf(keyFrom(PETER), sign(null, Buffer.from(TEXT), key));
    expect(writeNote({ text: TEXT, signatures: [signature] })).toBe(`${TEXT}\n${PETER_LINE}`);
  });

  it('are read back with all their signatures', () => {
    const note = parseNote(`${TEXT}\n${PETER_LINE}${ENOCH_LINE}`);
    expect(note.text).toBe(TEXT);
    expect(note.signatures.map(({ name, keyId }) => `${name} ${keyId}`)).toEqual([
      'PeterNeumann c74f20a3',
      'EnochRoot af0cfe78',
    ]);
    expect(writeNote(note)).toBe(`${TEXT}\n${PETER_LINE}${ENOCH_LINE}`);
  });

  it('may have empty lines in their text: the example of C2SP signed-note', () => {
    const poem = 'Ognuno sta solo sul cuor della terra\ntrafitto da un raggio di sole:\n\ned è subito sera.\n';
    const line =
      '— quasimodo.example/salvatore NnugSzTjtVAewIS+Z/iJhUPeFDkO/5QQ2i5ddnGITLlC+EhfLW9oJKONrMouFSQU0xMcXxj99ihAQwaqP3ZekRwNtIc=\n';
    const note = parseNote(`${poem}\n${line}`);
    expect(note.text).toBe(poem);
    expect(note.signatures).toMatchObject([{ name: 'quasimodo.example/salvatore', keyId: '367ba04b' }]);
  });

  // The malformed notes of the same Go test, and what else the specification forbids.
  it.each([
    ['no empty line', TEXT],
    ['no signature', `${TEXT}\n`],
    ['a last line without end', `${TEXT}\n${PETER_LINE.slice(0, -1)}`],
    ['a control character', `\u0001${TEXT}\n${PETER_LINE}`],
    ['a space in a name', `${TEXT}\n— Bad Name ${PETER_LINE.split(' ')[2]}`],
    ['a line that is no signature', `${TEXT}\n${PETER_LINE}Unexpected line.\n`],
    ['another dash', `${TEXT}\n${PETER_LINE.replace('—', '-')}`],
    ['a plus in a name', `${TEXT}\n${PETER_LINE.replace('Neumann', '+')}`],
    ['a signature shorter than a key id', `${TEXT}\n— PeterNeumann x08=\n`],
    ['101 signatures', `${TEXT}\n${PETER_LINE.repeat(101)}`],
  ])('are refused with %s', (_what, note) => {
    expect(fault(() => parseNote(note))).toMatch(/^this is no signed note: /);
  });
});

describe('heads of the ledger', () => {
  // The example of C2SP tlog-checkpoint, with the cosigner of the example of C2SP tlog-cosignature. Their public keys are
  // not published, so only the form is checked here.
  const EXAMPLE = `example.com/behind-the-sofa
20852163
CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=

— example.com/behind-the-sofa Az3grlgtzPICa5OS8npVmf1Myq/5IZniMp+ZJurmRDeOoRDe4URYN7u5/Zhcyv2q1gGzGku9nTo+zyWE+xeMcTOAYQ8=
— witness.example.com/w1 jWbPPwAAAABkGFDLEZMHwSRaJNiIDoe9DYn/zXcrtPHeolMI5OWXEhZCB9dlrDJsX3b2oyin1nPZqhf5nNo0xUe+mbIUBkBIfZ+qnA==
`;

  const SEED = Buffer.from('4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb', 'hex');
  const PRIVATE = privateKey(SEED);
  const PUBLIC = createPublicKey(PRIVATE).export({ type: 'spki', format: 'pem' }).toString();
  const HEAD: Checkpoint = { origin: originOf('ab'.repeat(32)), size: 1234, root: '0f'.repeat(32) };
  const KEY: NoteKey = { name: HEAD.origin, publicPem: PUBLIC };

  const signedHead = (head: Checkpoint = HEAD): Note => {
    const text = checkpointText(head);
    return { text, signatures: [signatureOf(KEY, sign(null, Buffer.from(text), PRIVATE))] };
  };

  it('read the example of C2SP tlog-checkpoint, cosigner and all, and write its text', () => {
    const note = parseNote(EXAMPLE);
    const head = parseCheckpoint(note.text);
    expect(head).toEqual({
      origin: 'example.com/behind-the-sofa',
      size: 20_852_163,
      root: '0ac5186a91863e8e1d90c808014aa89bf5da8e3ee1d9f07630f0378f68f1ab62',
    });
    expect(checkpointText(head)).toBe(note.text);
    expect(writeNote(note)).toBe(EXAMPLE);
    expect(readHead(note, [KEY])).toMatchObject({ signedBy: null, others: note.signatures });
  });

  // RFC 8032 section 7.1, test 2: seed and public key, so that what is checked here rests on a published key.
  it('are signed under a key that RFC 8032 publishes', () => {
    const raw = Buffer.from('3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c', 'hex');
    expect(PUBLIC).toBe(pemOfPublic(raw));
    const head = readHead(signedHead(), [KEY]);
    expect(head).toMatchObject({ ...HEAD, others: [] });
    expect(head.signedBy).toMatch(/^[0-9a-f]{64}$/);
  });

  it('come as one line and go back to the same note', () => {
    const note = signedHead();
    const line = headLine(note);
    expect(line.split(' ')).toHaveLength(4);
    expect(parseHead(line)).toEqual(note);
    expect(parseHead(`  ${line}\n`)).toEqual(note);
    expect(parseHead(writeNote(note))).toEqual(note);
  });

  it('tolerate cosigners and show them', () => {
    const note = signedHead();
    const cosigned = { ...note, signatures: [...note.signatures, ...parseNote(EXAMPLE).signatures] };
    const head = readHead(parseHead(writeNote(cosigned)), [KEY]);
    expect(head.signedBy).not.toBeNull();
    expect(head.others.map(({ name }) => name)).toEqual(['example.com/behind-the-sofa', 'witness.example.com/w1']);
  });

  it('are not taken for signed when their key is not known', () => {
    const stranger = { ...KEY, name: 'elsewhere.invalid/1' };
    expect(readHead(signedHead(), [stranger])).toMatchObject({ signedBy: null, others: [{ name: HEAD.origin }] });
  });

  it.each([
    ['another size', { ...HEAD, size: 1235 }],
    ['another root', { ...HEAD, root: '0e'.repeat(32) }],
  ])('are refused with %s under the signature', (_what, other) => {
    const forged = { text: checkpointText(other), signatures: signedHead().signatures };
    expect(fault(() => readHead(forged, [KEY]))).toMatch(/was not signed by the key that it names/);
  });

  it('are refused with another origin under the signature, even when that origin is known', () => {
    const text = checkpointText({ ...HEAD, origin: 'lotwright.invalid/other' });
    expect(fault(() => readHead({ text, signatures: signedHead().signatures }, [KEY]))).toMatch(/was not signed/);
  });

  it.each([
    ['an empty origin', `\n12\n${'A'.repeat(43)}=\n`, /first line/],
    ['a size with a leading zero', `a\n012\n${'A'.repeat(43)}=\n`, /second line/],
    ['a size that is no number', `a\n-1\n${'A'.repeat(43)}=\n`, /second line/],
    ['a size beyond what can be counted', `a\n9007199254740993\n${'A'.repeat(43)}=\n`, /second line/],
    ['a root that is too short', 'a\n12\nAAAA\n', /third line/],
    ['no root', 'a\n12\n', /third line/],
    ['an empty line', `a\n12\n${'A'.repeat(43)}=\n\nx\n`, /empty line/],
    ['no end of the last line', `a\n12\n${'A'.repeat(43)}=`, /line/],
  ])('are refused with %s', (_what, text, reason) => {
    expect(fault(() => parseCheckpoint(text))).toMatch(reason);
  });

  it('allow further lines, which mean nothing here', () => {
    expect(parseCheckpoint(`${checkpointText(HEAD)}more\n`)).toEqual(HEAD);
  });

  it('are the size 0 before the first entry', () => {
    expect(parseCheckpoint(checkpointText({ ...HEAD, size: 0 })).size).toBe(0);
  });

  it.each(['', 'a b c', 'a 1 c d e', `${HEAD.origin} 12 AAAA !!!!`])('are refused as the line "%s"', (line) => {
    expect(fault(() => parseHead(line))).toMatch(/this is no (?:head of a ledger|signed note)/);
  });
});
