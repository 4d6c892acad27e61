import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { AppError } from '../base/errors.js';
import { programName } from '../base/settings.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { programAcceptance } from '../signing/program-acceptance.js';
import type { Store } from '../store/store.js';
import { compareNumber, REFERENCE_NUMBERS } from './reference-numbers.js';
import { type CheckedItem, checkScenario } from './scenario-check.js';

export interface SelfCheckReport {
  readonly format: 1;
  readonly program: string;
  readonly node: string;
  readonly system: string;
  readonly madeAt: string;
  readonly passed: boolean;
  readonly items: readonly CheckedItem[];
}

export interface SelfCheckResult {
  readonly report: SelfCheckReport;
  /** SHA-256 of the report; under this name it is kept as evidence. */
  readonly sha256: string;
  /** Canonical JSON of the report: what the signature covers. */
  readonly text: string;
  /** Ed25519 (RFC 8032) of the installation key, base64. */
  readonly signature: string;
  readonly fingerprint: string;
  readonly accepted: string;
}

/**
 * Tries the installed program on this machine: published numbers, a whole invented scenario, attacks on it that must be
 * seen, a backup and its restore. Works in a folder of its own; what is stored is not touched. The report is kept as
 * evidence and signed by the installation key.
 */
export async function selfCheck(store: Store, actor: string): Promise<SelfCheckResult> {
  return keepReport(store, actor, [...checkNumbers(), ...(await inTemporaryFolder(checkScenario))]);
}

export function checkNumbers(): CheckedItem[] {
  return REFERENCE_NUMBERS.map((reference) => {
    try {
      return { group: 'reference numbers' as const, ...compareNumber(reference) };
    } catch (error) {
      const { calculation, field, published } = reference;
      const found = (error as Error).message;
      return { group: 'reference numbers', name: `${calculation} ${field}`, expected: published, found, ok: false };
    }
  });
}

/** Keeps what came out as evidence, signed by the installation key. */
export async function keepReport(store: Store, actor: string, items: readonly CheckedItem[]): Promise<SelfCheckResult> {
  const report: SelfCheckReport = {
    format: 1,
    program: programName(),
    node: process.versions.node,
    system: `${os.type()} ${os.release()} ${os.arch()}`,
    madeAt: store.clock.now().toISOString(),
    passed: items.every((item) => item.ok),
    items,
  };
  const text = canonicalJson(report);
  const signature = store.key.sign(text).toString('base64');
  const kept = await inTemporaryFolder(async (folder) => {
    const file = path.join(folder, 'self-check.json');
    fs.writeFileSync(file, text);
    return store.evidence.keep(file);
  });
  if (kept.sha256 !== sha256Hex(text)) throw new AppError('UNEXPECTED', 'the report was not kept as it was written');
  await store.change(actor, async (change) => {
    await change.evidence.add({ ...kept, fileName: 'self-check.json' });
    await change.events.add({
      type: 'self-check-made',
      program: report.program,
      node: report.node,
      passed: report.passed,
      failed: report.items.filter((item) => !item.ok).map((item) => item.name),
      report: kept.sha256,
      signature,
    });
  });
  const { says } = await programAcceptance(store.read);
  return { report, text, sha256: kept.sha256, signature, fingerprint: store.key.fingerprint, accepted: says };
}

async function inTemporaryFolder<T>(work: (folder: string) => Promise<T>): Promise<T> {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-self-check-'));
  try {
    return await work(folder);
  } finally {
    fs.rmSync(folder, { recursive: true, force: true });
  }
}
