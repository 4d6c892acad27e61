import { programName } from '../../src/base/settings.js';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import type { Dossier } from '../../src/dossier/schema.js';
import type { Statement } from '../../src/dossier/statement.js';
import { ATTACHED, Enclosure } from '../../src/records/enclosure.js';
import { verifyText } from '../../src/report/phrases/verify.js';
import { standardTemplateText } from '../../src/report/standard-template.js';
import { compareAttachments, readEnclosure } from '../../src/verify/read-carried.js';
import { Steps } from '../../src/verify/report.js';
import { checkCarried } from '../../src/verify/verify-record.js';
import { type IssuedLot, issuedLot } from '../support/issued-lot.js';
import { SmallInstallation } from '../support/sealed-record.js';

/* Honest records of a later version, each with one optional field more than this version knows. */
const LATER = 'Lotwright 9.0.0 (build later)';

let issued: IssuedLot;
beforeAll(async () => {
  issued = await issuedLot();
});

// biome-ignore lint/suspicious/noExplicitAny: whatever a later version may have written
type Free = any;

/** What a later version would have written otherwise; all digests, signatures and proofs are then its own. */
interface Written {
  readonly program?: string;
  readonly part?: readonly [name: string, change: (body: Free) => void];
  readonly body?: readonly [kind: string, change: (body: Free) => void];
  readonly lotFile?: (dossier: Free) => void;
  readonly statement?: (statement: Free) => void;
  readonly enclosure?: (enclosure: Free) => void;
}

async function verified({ program = LATER, part, body, lotFile, statement, enclosure }: Written) {
  const { lot } = issued;
  const installation = new SmallInstallation(issued.installation.seal);
  const dossier = JSON.parse(lot.dossierText) as { -readonly [K in keyof Dossier]: Free };
  const parts = new Map(
    dossier.parts.map((ref: { name: string; sha256: string }) => [ref.name, lot.parts.get(ref.sha256)!]),
  );
  if (part) {
    const [name, change] = part;
    const value = JSON.parse(parts.get(name) as string);
    change(value);
    parts.set(name, canonicalJson(value));
    dossier.parts.find((ref: { name: string }) => ref.name === name).sha256 = sha256Hex(canonicalJson(value));
  }
  if (body) {
    const [kind, change] = body;
    const pinned = dossier.pinned.find((item: { kind: string }) => item.kind === kind);
    change(pinned.body);
    pinned.digest = sha256Hex(canonicalJson(pinned.body));
  }
  lotFile?.(dossier);
  const dossierText = canonicalJson(dossier);
  const texts = new Map<string, string>([
    [ATTACHED.dossier, dossierText],
    [ATTACHED.assessment, canonicalJson({ ...lot.assessment, dossierSha256: sha256Hex(dossierText) })],
    [ATTACHED.template, standardTemplateText()],
    ...(parts as Map<string, string>),
  ]);
  const digests = {
    dossierSha256: sha256Hex(texts.get(ATTACHED.dossier)!),
    assessmentSha256: sha256Hex(texts.get(ATTACHED.assessment)!),
  };
  const signed = installation.signed({ ...lot, ...digests }, 'reviewed', 'Rea');
  statement?.(signed.statement);
  const signature = installation.signStatement(signed.statement as Statement);
  const attachments = [...texts].map(([name, text]) => ({
    name,
    sha256: sha256Hex(text),
    bytes: Buffer.byteLength(text),
    mediaType: 'application/json',
    describes: 'invented',
  }));
  const issue = installation.issueOf({ ...lot, ...digests }, 1, [signature]);
  const written = {
    format: 1,
    ...issue,
    record: { ...issue.record, final: false },
    ...digests,
    program,
    demo: dossier.demo,
    lot: dossier.lot,
    template: { revision: 1, sha256: sha256Hex(standardTemplateText()) },
    withheldCases: [],
    attachments,
  } satisfies Enclosure;
  enclosure?.(written);
  const text = canonicalJson(written);
  const bytesOf = (all: Map<string, string>) => new Map([...all].map(([name, one]) => [name, Buffer.from(one)]));
  const contents = {
    keywords: `enclosure:${sha256Hex(text)}`,
    attachments: bytesOf(new Map([...texts, [ATTACHED.enclosure, text]])),
    signatures: [],
    pages: [],
  };
  const steps = new Steps();
  const { enclosure: read, attached } = readEnclosure(contents as never, Enclosure, steps)!;
  if (!read) {
    compareAttachments(contents as never, attached!, steps);
    return { steps, units: [] };
  }
  const file = { bytes: Buffer.alloc(0), contents, enclosure: read, seal: {} };
  const units = await checkCarried(file as never, {}, steps);
  return { steps, units };
}

const outcomeOf = (steps: Steps, name: string) => steps.list.find(({ step }) => step === name)?.outcome;
const colour = (value: Free) => {
  value.colour = 'grey';
};

it.each<[string, Written, string]>([
  ['the enclosure', { enclosure: colour }, 'enclosure'],
  ['an attachment that it names', { enclosure: ({ attachments }) => colour(attachments[0]) }, 'enclosure'],
  ['a statement', { statement: colour }, 'enclosure'],
  ['whoever made a statement', { statement: ({ person }) => colour(person) }, 'enclosure'],
  ['the lot file', { lotFile: colour }, 'lot file'],
  ['a pinned document', { lotFile: ({ pinned }) => colour(pinned[0]) }, 'lot file'],
  ['the facts of a log', { lotFile: ({ logs }) => colour(logs[0]) }, 'lot file'],
  ['the lot', { body: ['lot', colour] }, 'lot file'],
  ['an implant', { body: ['lot', ({ implants }) => colour(implants[0])] }, 'lot file'],
  ['a machine', { body: ['machine', colour] }, 'lot file'],
  ['the certificate of a receipt', { body: ['receipt', ({ certificate }) => colour(certificate)] }, 'lot file'],
  ['the part of a log', { part: ['log-M1-101.json', colour] }, 'lot file'],
  ['the part of a case', { part: ['case-K-101-1.json', colour] }, 'lot file'],
  ['a document of a case', { part: ['case-K-101-1.json', ({ pinned }) => colour(pinned[0])] }, 'lot file'],
])('a field more in %s is passed over and named, and all else is checked', async (_what, written, step) => {
  const { steps, units } = await verified(written);
  expect(steps.list.filter(({ outcome }) => outcome === 'does not hold')).toEqual([]);
  expect(steps.answer).toBe('another version');
  const named = steps.list.filter(({ outcome }) => outcome === 'not known');
  expect(named.map((one) => one.step)).toEqual([step]);
  expect(verifyText(named[0]!)).toMatch(
    /the field "colour".*It claims that Lotwright 9\.0\.0 \(build later\) wrote it: verify/,
  );
  for (const name of ['attachments', 'signatures', 'audit trail', 'assessment']) {
    expect([name, outcomeOf(steps, name)]).toEqual([name, 'holds']);
  }
  expect(units).toHaveLength(issued.lot.assessment.units.length);
});

it.each([
  ['this very program', programName()],
  ['an earlier release', 'Lotwright 0.0.9 (build earlier)'],
])('calls what %s is said to have written, and does not know, altered', async (_, program) => {
  const { steps } = await verified({ program, lotFile: colour });
  expect(steps.list).toContainEqual(expect.objectContaining({ step: 'lot file', code: 'not of its writer' }));
  expect(steps.answer).toBe('altered');
});

it('checks signatures and the audit trail where only a later version reads the lot file', async () => {
  const { steps } = await verified({
    lotFile: (dossier) => {
      dossier.format = 99;
    },
  });
  expect(steps.answer).toBe('another version');
  for (const name of ['attachments', 'signatures', 'audit trail']) {
    expect([name, outcomeOf(steps, name)]).toEqual([name, 'holds']);
  }
  expect(outcomeOf(steps, 'assessment')).toBe('not checked');
});

it('compares the attachments where only a later version reads the enclosure', async () => {
  const { steps } = await verified({
    enclosure: (written) => {
      Object.assign(written, { format: 99, seal: 'moved' });
    },
  });
  expect(steps.list.map(({ step, outcome }) => [step, outcome])).toEqual([
    ['enclosure', 'not known'],
    ['attachments', 'holds'],
  ]);
});
