import { LaterFormError } from '../../src/base/errors.js';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { newestPartFormat, readFacts } from '../../src/dossier/facts.js';
import type { Dossier, PartRef } from '../../src/dossier/schema.js';
import type { AssessedLot } from '../../src/lots/lot-assessor.js';
import { assessedLot } from '../support/record-content.js';

let lot: AssessedLot;
let dossier: Dossier;
beforeAll(async () => {
  lot = await assessedLot();
  ({ dossier } = lot.facts);
});

const partOf = (name: string): PartRef => dossier.parts.find((part) => part.name === name)!;
const withParts = (parts: readonly PartRef[]): Dossier => ({ ...dossier, parts: [...parts] });
const changed = (name: string, change: Partial<PartRef>): Dossier =>
  withParts(dossier.parts.map((part) => (part.name === name ? { ...part, ...change } : part)));

describe('parts of a lot file', () => {
  it('bear their format', () => {
    expect(dossier.parts.map(({ format }) => format)).toEqual(dossier.parts.map(({ name }) => newestPartFormat(name)));
  });

  it('are passed over where this version does not know them, and change nothing of what it knows', () => {
    const text = '{"remark":"calm"}';
    const unknown: PartRef[] = [undefined, 'K-101-1'].map((code, at) => ({
      name: `remark-${at}.json`,
      sha256: sha256Hex(text),
      bytes: text.length,
      mediaType: 'application/json',
      format: 7,
      ...(code === undefined ? {} : { case: code }),
    }));
    const parts = new Map([...lot.parts, [sha256Hex(text), text]]);
    const facts = readFacts(withParts([...dossier.parts, ...unknown]), parts);
    expect([facts.results, facts.withheldCases, [...facts.cases]]).toEqual([
      lot.facts.results,
      [],
      [...lot.facts.cases],
    ]);
  });

  it.each(['results.csv', 'log-summaries.csv', 'log-M1-101.json', 'case-K-101-1.json'])(
    'are named, and not called altered, where only a later version knows the format of %s',
    (name) => {
      const later = changed(name, { format: newestPartFormat(name) + 1 });
      expect(() => readFacts(later, lot.parts)).toThrow(LaterFormError);
      expect(() => readFacts(later, lot.parts)).toThrow(name);
    },
  );

  it('are altered where they are not of the format that they bear', () => {
    const text = lot.parts.get(partOf('results.csv').sha256)!.replace('specimen,', 'sample,');
    const spoilt = changed('results.csv', { sha256: sha256Hex(text) });
    expect(() => readFacts(spoilt, new Map([...lot.parts, [sha256Hex(text), text]]))).toThrow(
      /results.csv of the lot file/,
    );
  });
});
