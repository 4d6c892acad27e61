import fs from 'node:fs';
import path from 'node:path';
import type { Format, Formats } from './breaches.js';

const FOLDER = path.resolve('tests/formats/frozen');

/** The formats as they were frozen, by name. */
export function frozenFormats(): Formats {
  if (!fs.existsSync(FOLDER)) return {};
  const names = fs.readdirSync(FOLDER).filter((name) => name.endsWith('.json'));
  return Object.fromEntries(
    names.map((name) => [name.slice(0, -'.json'.length), JSON.parse(fs.readFileSync(path.join(FOLDER, name), 'utf8'))]),
  ) as Record<string, Format>;
}

/**
 * Why the formats of now may not be frozen, or undefined when they may. Before 1.0.0 nothing binds
 * (docs/decisions/formats-before-1.0.md); from then on only what grew by the rules is taken in.
 */
export function whyNotToFreeze(version: string, found: readonly string[]): string | undefined {
  if (Number.parseInt(version, 10) < 1 || found.length === 0) return undefined;
  return `version ${version} may not break what was frozen:\n${found.join('\n')}`;
}

/** Writes the formats of now as the frozen ones. */
export function freeze(now: Formats): void {
  fs.rmSync(FOLDER, { recursive: true, force: true });
  fs.mkdirSync(FOLDER, { recursive: true });
  for (const [name, format] of Object.entries(now)) {
    fs.writeFileSync(path.join(FOLDER, `${name}.json`), `${JSON.stringify(format, null, 1)}\n`);
  }
}
