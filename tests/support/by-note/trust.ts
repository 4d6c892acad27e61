import { createPublicKey, verify } from 'node:crypto';
import { type Carried, canonical, digest, type Json, sha256 } from './carried.js';

const derOf = (pem: string): Buffer => Buffer.from(pem.replace(/-----[^-]+-----|\s/g, ''), 'base64');

function isSignedBy(pem: string, text: string, signature: string | undefined): boolean {
  const key = createPublicKey(pem);
  return signature !== undefined && verify(null, Buffer.from(text), key, Buffer.from(signature, 'base64'));
}

/** Names of what does not have the digest that it should have. */
export function alteredFiles({ files, enclosure, dossier }: Carried): string[] {
  const named: readonly Json[] = [...enclosure.attachments, ...dossier.parts];
  const listed = named.filter(({ name, sha256: stated }) => files.has(name) && sha256(files.get(name)!) !== stated);
  const missing = enclosure.attachments.filter(({ name }: Json) => !files.has(name));
  const [lot, said] = ['dossier.json', 'assessment.json'].map((name) => sha256(files.get(name)!));
  return [
    ...listed.map(({ name }) => name),
    ...missing.map(({ name }: Json) => name),
    ...(lot === enclosure.dossierSha256 ? [] : ['dossier.json']),
    ...(said === enclosure.assessmentSha256 ? [] : ['assessment.json']),
  ];
}

/** Documents whose digest is not that of their body. */
export const alteredDocuments = ({ documents }: Carried): string[] =>
  documents.filter((item) => digest(item.body) !== item.digest).map(({ kind, key }) => `${kind} ${key}`);

/** Every signed statement of the record. */
export function signedStatements({ dossier, cases, enclosure }: Carried): readonly Json[] {
  return [dossier, ...cases, enclosure].flatMap(({ signatures }) => signatures);
}

/** Digests of statements that the keys which they name did not both sign. */
export function unsigned(carried: Carried): string[] {
  const { enclosure } = carried;
  const keys = new Map<string, string>(
    [...enclosure.keys, ...enclosure.people].map(({ fingerprint, publicPem }: Json) => [fingerprint, publicPem]),
  );
  return signedStatements(carried)
    .filter((signed) => {
      const text = canonical(signed.statement);
      const { installation, person, at } = signed.statement;
      const [pem, personPem] = [keys.get(installation), keys.get(person.key)];
      if (sha256(text) !== signed.digest || pem === undefined || personPem === undefined) return true;
      const own = enclosure.people.find(({ fingerprint }: Json) => fingerprint === person.key);
      const next = enclosure.people.find(({ replaces }: Json) => replaces === person.key);
      const ends = [own.closedAt, next?.madeAt].filter(Boolean).map((end: string) => Date.parse(end));
      const inUse = Date.parse(at) >= Date.parse(own.madeAt) && ends.every((end) => Date.parse(at) <= end);
      const vouching = own.replaces === null ? null : own.endorsements.map((one: Json) => one.person);
      const says = own.person === person.code && canonical(vouching) === canonical(person.recoveredBy);
      const both = isSignedBy(pem, text, signed.signature) && isSignedBy(personPem, text, signed.personSignature);
      return !inUse || !says || !both;
    })
    .map((signed) => signed.digest);
}

const ACTS = ['hold-placed', 'hold-lifted', 'release-revoked', 'verdict-changes-seen'];

/** Acts on the lot that the person whom the record names did not sign as it tells of them. */
export function unsignedActs({ enclosure }: Pick<Carried, 'enclosure'>): string[] {
  const people = enclosure.people as Json[];
  return (enclosure.states as Json[])
    .filter(({ what, cause }) => ACTS.includes(what) && !(what === 'hold-placed' && cause !== undefined))
    .filter(({ what, units, by, at, reason, step, signed }) => {
      const [one, ...others] = signed?.signatures ?? [];
      const own = people.find(({ fingerprint, person }) => fingerprint === one?.key && person === one.person);
      if (own === undefined || others.length > 0 || !isSignedBy(own.publicPem, signed.text, one.signature)) return true;
      const next = people.find(({ replaces }) => replaces === own.fingerprint);
      const ends = [own.closedAt, next?.madeAt].filter(Boolean).map((end: string) => Date.parse(end));
      if (Date.parse(at) < Date.parse(own.madeAt) || ends.some((end) => Date.parse(at) > end)) return true;
      if (by !== `person:${own.person}` && !by.startsWith(`person:${own.person} through`)) return true;
      const text = JSON.parse(signed.text) as Json;
      const { act } = text;
      const allUnits: string[] = act.units ?? units;
      const sameUnits = units.every((unit: string) => allUnits.includes(unit));
      const said = [text.at, text.actor, text.reason ?? '', act.type, act.lot, act.step];
      const told = [at, by, reason, what, enclosure.lot, step];
      return (
        !sameUnits || (enclosure.forCase === null && allUnits.length > units.length) || String(said) !== String(told)
      );
    })
    .map(({ what, at }) => `${what} ${at}`);
}

const TOLD_TO_ALL = ['signed', 'hold-placed', 'hold-lifted', 'release-revoked'];

/** Where the record does not tell all that befell the lot before somebody signed on it. */
export function leftOut({ enclosure, implants }: Pick<Carried, 'enclosure' | 'implants'>): string[] {
  const { states, signatures, forCase } = enclosure as Json;
  const course: Json[] = enclosure.course ?? [];
  const bound = (signatures as Json[]).flatMap((signed) => {
    const named = signed.statement.beside.find(({ kind }: Json) => kind === 'course');
    return named === undefined ? [] : [{ digest: signed.digest, before: named.digest }];
  });
  if (bound.length === 0) return [];
  const ofCase = implants.filter((one) => one.case === forCase).map(({ serial }) => serial);
  const concerns = ({ what, units }: Json) =>
    forCase === null ||
    (TOLD_TO_ALL.includes(what) && (units.length === 0 || units.some((unit: string) => ofCase.includes(unit))));
  const texts = (states as Json[])
    .filter(({ what }) => forCase === null || TOLD_TO_ALL.includes(what))
    .map(({ signed, text }) => signed?.text ?? text ?? '');
  const told: string[] = [...texts.map(sha256), ...signatures.map((signed: Json) => signed.digest)];
  const placeOf = (own: string) => course.findIndex((one) => one.digest === own);
  return [
    ...bound
      .filter((one) => placeOf(one.digest) < 0 || digest(course.slice(0, placeOf(one.digest))) !== one.before)
      .map((one) => `before ${one.digest}`),
    ...told.filter((one) => placeOf(one) < 0),
    ...course.filter((one) => concerns(one) && !told.includes(one.digest)).map((one) => one.digest),
  ];
}

/** Statements that are before an entry that stands before theirs, or after their own. */
export function untimely(carried: Carried): string[] {
  const { ledger } = carried.enclosure;
  const entries: Json[] = ledger.proofs.map(({ entry }: Json) => JSON.parse(entry));
  const stamped = ledger.witnessed?.token ? ledger.witnessed : undefined;
  return signedStatements(carried)
    .filter(({ digest: own, statement }) => {
      const entry = entries.find((one) => one.type === 'statement-signed' && one.digest === own);
      if (entry === undefined) return false;
      const before = entries.filter(({ seq }) => seq < entry.seq).map(({ at }) => Date.parse(at));
      const at = Date.parse(statement.at);
      const isStamped = stamped !== undefined && stamped.size < entry.seq && at < Date.parse(stamped.at) - 600_000;
      return at > Date.parse(entry.at) || before.some((one) => at < one) || isStamped;
    })
    .map((one) => one.digest);
}

/** Digests of first pages that somebody signed and that the record does not carry as they were. */
export function otherPages({ enclosure }: Pick<Carried, 'enclosure'>): string[] {
  const carried = (enclosure.summaries ?? []).map(({ text }: Json) => sha256(text));
  const named = (enclosure.signatures as Json[]).flatMap(({ statement }) => statement.beside as Json[]);
  const pages = named.filter(({ kind }) => kind === 'summary').map((one) => one.digest);
  const stated = (enclosure.summaries ?? []).map((one: Json) => one.sha256);
  return [...pages, ...stated].filter((digest) => !carried.includes(digest));
}

/** Fingerprints of keys that do not follow each other from the first one on. */
export function foreignKeys({ enclosure }: Pick<Carried, 'enclosure'>): string[] {
  const [inUse, ...others] = enclosure.keys as Json[];
  const inOrder = inUse === undefined ? [] : [...others, inUse];
  return inOrder
    .filter((key, index) => {
      if (sha256(derOf(key.publicPem)) !== key.fingerprint) return true;
      const before = inOrder[index - 1];
      if (before === undefined) return (key.replaces ?? null) !== null;
      const { replaces, fingerprint, persons = null } = key;
      const text = canonical({ what: 'installation-key', replaces, fingerprint, persons });
      const endorsed =
        persons === null ? isSignedBy(before.publicPem, text, key.endorsement) : new Set(persons).size === 2;
      return replaces !== before.fingerprint || !endorsed || !isSignedBy(key.publicPem, text, key.acceptance);
    })
    .map(({ fingerprint }) => fingerprint);
}

/** Fingerprints of keys of people for which nothing vouches. */
export function foreignPeople({ enclosure }: Pick<Carried, 'enclosure'>): string[] {
  const people = enclosure.people as Json[];
  return people
    .filter((key, index) => {
      const { person, name, fingerprint, replaces, link } = key;
      const before = people.slice(0, index);
      const text = canonical({ what: 'person-key', person, name, fingerprint, replaces, link });
      const offer = canonical({ what: 'person-key-link', person, name, replaces, link });
      const installation = (enclosure.keys as Json[]).find((one) => one.fingerprint === key.installation);
      const signed = isSignedBy(key.publicPem, text, key.acceptance) && installation !== undefined;
      if (!signed || !isSignedBy(installation.publicPem, text, key.signature)) return true;
      if (sha256(derOf(key.publicPem)) !== fingerprint) return true;
      if (index === 0) return replaces !== null || link !== null;
      if (!isSignedBy(link, text, key.linkSignature)) return true;
      const vouching = new Set(
        (key.endorsements as Json[])
          .filter((one) => {
            const own = before.find((other) => other.fingerprint === one.key && other.person === one.person);
            return own && one.person !== person && isSignedBy(own.publicPem, offer, one.signature);
          })
          .map((one) => one.person),
      );
      const others = new Set(before.map((one) => one.person).filter((one) => one !== person));
      return vouching.size < (replaces === null ? 1 : Math.min(2, others.size));
    })
    .map(({ fingerprint }) => fingerprint);
}

/** What is wrong with the signed head; undefined where it holds. */
export function headFault({ enclosure }: Pick<Carried, 'enclosure'>): string | undefined {
  const { checkpoint, size, root } = enclosure.ledger;
  const [text, signature] = (checkpoint as string)
    .split('\n\n— ')
    .map((part, index) => (index === 0 ? `${part}\n` : part));
  const [origin, count, base64] = text!.split('\n');
  const [name, blob] = signature!.trim().split(' ');
  const bytes = Buffer.from(blob!, 'base64');
  if (name !== origin) return 'another origin';
  if (Number(count) !== size || Buffer.from(base64!, 'base64').toString('hex') !== root) return 'another head';
  const keys = enclosure.keys as Json[];
  const first = keys.length > 1 ? keys[1]! : keys[0]!;
  if (!origin!.endsWith(`/${first.fingerprint.slice(0, 16)}`)) return 'another folder';
  const signer = keys.find(({ publicPem }) => {
    const id = sha256(Buffer.concat([Buffer.from(`${origin}\n\x01`), derOf(publicPem).subarray(-32)])).slice(0, 8);
    return id === bytes.subarray(0, 4).toString('hex');
  });
  const isGood = signer && isSignedBy(signer.publicPem, text!, bytes.subarray(4).toString('base64'));
  return isGood ? undefined : 'not signed';
}

const hashes = (first: number, ...parts: readonly Uint8Array[]): Buffer =>
  Buffer.from(sha256(Buffer.concat([Buffer.of(first), ...parts])), 'hex');

/** Root to which the path of an entry leads. */
export function rootOver({ seq, entry, path }: Json, size: number): string {
  let [at, last] = [seq - 1, size - 1];
  let hash = hashes(0, Buffer.from(entry));
  for (const text of path) {
    const sibling = Buffer.from(text, 'hex');
    if (at % 2 === 1 || at === last) {
      hash = hashes(1, sibling, hash);
      while (at % 2 === 0 && at !== 0) [at, last] = [at / 2, Math.floor(last / 2)];
    } else hash = hashes(1, hash, sibling);
    [at, last] = [Math.floor(at / 2), Math.floor(last / 2)];
  }
  return last === 0 ? hash.toString('hex') : 'a path of another length';
}

/** Entries that do not stand under the head, and what should stand there and is not named by any. */
export function unproven(carried: Carried): string[] {
  const { ledger, dossierSha256, assessmentSha256, seal } = carried.enclosure;
  const entries: Json[] = ledger.proofs.map((proof: Json) => ({ ...JSON.parse(proof.entry), proof }));
  const has = (type: string, of: (entry: Json) => boolean) => entries.some((entry) => entry.type === type && of(entry));
  return [
    ...entries
      .filter(({ seq, proof }) => seq !== proof.seq || rootOver(proof, ledger.size) !== ledger.root)
      .map(({ proof }) => `entry ${proof.seq}`),
    ...(has('dossier-frozen', (entry) => entry.digest === dossierSha256) ? [] : ['lot file']),
    ...(has('assessment-made', (entry) => entry.digest === assessmentSha256) ? [] : ['assessment']),
    ...signedStatements(carried)
      .filter((signed) => !has('statement-signed', (entry) => entry.digest === signed.digest))
      .map((signed) => signed.digest),
    ...(seal === null || has('event-recorded', ({ event, subject }) => isKey(event, subject, seal)) ? [] : ['seal']),
  ];
}

const isKey = (event: string, subject: Json, seal: Json): boolean =>
  event === 'key-made' && subject.key === seal.certificateSha256;

/** Whether the trail of an earlier record only grew into that of this one. */
export function onlyGrew({ size, root, consistency }: Json, ledger: Json): boolean {
  if (size === ledger.size) return consistency.length === 0 && root === ledger.root;
  const isPower = (size & (size - 1)) === 0;
  const [first, ...rest] = (isPower ? [root, ...consistency] : consistency).map((text: string) =>
    Buffer.from(text, 'hex'),
  );
  let [at, last] = [size - 1, ledger.size - 1];
  while (at % 2 === 1) [at, last] = [Math.floor(at / 2), Math.floor(last / 2)];
  let [old, now] = [first, first];
  for (const sibling of rest) {
    if (at % 2 === 1 || at === last) {
      old = hashes(1, sibling, old);
      now = hashes(1, sibling, now);
      while (at % 2 === 0 && at !== 0) [at, last] = [at / 2, Math.floor(last / 2)];
    } else now = hashes(1, now, sibling);
    [at, last] = [Math.floor(at / 2), Math.floor(last / 2)];
  }
  return last === 0 && old.toString('hex') === root && now.toString('hex') === ledger.root;
}
