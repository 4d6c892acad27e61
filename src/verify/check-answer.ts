import { verifyConsistency } from '../ledger/proofs.js';
import type { OpenedPdf } from '../pdf/reading/open-pdf.js';
import { ANSWER_FILE, CarriedAnswer, headOf, recorded, revisionsIn } from '../trace/carried-answer.js';
import { numberOf, renderAnswer } from '../trace/render-answer.js';
import { checkKey } from './check-key.js';
import { checkHead, type Expected, expectedSeal } from './check-ledger.js';
import { checkDrawn } from './check-pages.js';
import { checkSeal } from './check-seal.js';
import { readEnclosure } from './read-carried.js';
import type { Steps, VerifyReport } from './report.js';

/**
 * Checks a signed answer with nothing but the file: its seal, what it carries against the pages, and that all that it names
 * stands in the audit trail whose head it carries. Whether it leaves something out no file can show.
 */
export async function checkAnswer(
  { bytes, contents }: OpenedPdf,
  trusted: string | undefined,
  steps: Steps,
): Promise<VerifyReport['paper']> {
  const carried = readEnclosure(contents, CarriedAnswer, steps, ANSWER_FILE)?.enclosure;
  if (!carried) return undefined;
  const { told, keys } = carried;
  for (const name of contents.attachments.keys()) {
    if (name !== ANSWER_FILE) steps.broken('attachments', { code: 'attachment added', facts: { name } });
  }
  const expected = { draft: false, certificateSha256: carried.seal.certificateSha256 };
  const seal = await checkSeal(bytes, contents, expected, steps);
  const headKey = checkProofs(carried, steps);
  const render = async () => ({ pdf: await renderAnswer(carried) });
  await checkDrawn(bytes, { ...carried, draft: false }, render, { contents, seal }, steps);
  checkKey(trusted, headKey, { keys, record: { draft: false }, signatures: [] }, undefined, steps);
  return { number: numberOf(told), entries: headOf(told).size };
}

/** @returns fingerprint of the key that signed the head, when all of it holds. */
function checkProofs(carried: CarriedAnswer, steps: Steps): string | undefined {
  const { told, named, ledger, seal } = carried;
  const { size, root } = headOf(told);
  const growth = { oldSize: size, size: ledger.size, oldRoot: root, root: ledger.root, proof: ledger.consistency };
  if (!verifyConsistency(growth)) {
    return steps.broken('audit trail', { code: 'answer of another audit trail', facts: { size } });
  }
  const proven = new Map(named.map((one) => [`${one.kind} ${one.key} ${one.revision}`, one]));
  const revisions = revisionsIn(told).map((one): Expected => {
    const found = proven.get(`${one.kind} ${one.key} ${one.revision}`);
    return {
      unproven: { thing: 'revision', ...one },
      found: (entry) => found !== undefined && entry.seq === found.seq && found.seq <= size && recorded(entry, found),
    };
  });
  const expected = [...revisions, ...expectedSeal(seal)];
  return checkHead({ ...carried, draft: false }, { expected, statements: [] }, steps);
}
