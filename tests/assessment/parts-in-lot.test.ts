import { doersAmong, partsInLot } from '../../src/assessment/parts-in-lot.js';
import type { Facts } from '../../src/dossier/facts.js';
import { lotFileSubject } from '../../src/dossier/signable.js';
import { independenceOf, otherPartsOf } from '../../src/records/independence.js';
import { independenceText, otherPartsText, partTexts } from '../../src/report/phrases/parts-in-lot.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { decidedByBoth, signedFacts, statement } from '../support/signed-facts.js';

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf();
});

const partsOf = (of: Facts, code: string): string[] =>
  partTexts(partsInLot(of).filter(({ person }) => person === code));

const DIGEST = 'd'.repeat(64);
const signedOnLot = (meaning: 'reviewed' | 'released', by: string) =>
  statement(meaning, lotFileSubject('L-1', DIGEST), by);

/** What the record says of a signature on the lot file. */
const toldOf = (of: Facts, by: string, meaning: 'reviewed' | 'released' = 'released', ...before: string[]) => {
  const earlier = before.map((code) => signedOnLot('reviewed', code));
  const shown = { facts: of, enclosure: { signatures: earlier } } as never;
  const own = { ...signedOnLot(meaning, by).statement, at: '2031-04-01T09:00:00.000Z' };
  return [independenceText(independenceOf(shown, own)), otherPartsText(otherPartsOf(shown, own))];
};

describe('the parts that people had in a lot', () => {
  it('are all that its files and signatures tell, and not builds and values alone', () => {
    const signed = signedFacts(facts);
    expect(partsOf(signed, 'P-OP').sort()).toEqual([
      'made powder state PS-1',
      'maintained machine M1',
      'ran build M1-101',
      'transcribed the certificate of receipt R-1',
    ]);
    expect(partsOf(signed, 'P-AN')).toEqual(
      expect.arrayContaining([
        'measured 6 results',
        'typed 2 results',
        'signed as performed result sheet L-1:results/size.csv, L-1:results/tensile.csv',
      ]),
    );
    const quality = partsOf(signed, 'P-QE');
    expect(quality).toEqual(
      expect.arrayContaining([
        'opened lot L-1',
        'approved receipt R-1',
        'checked certificate of receipt R-1',
        'checked result sheet L-1:results/size.csv',
        'approved recipe RC',
        'approved specification SP',
        'approved test method TM-S, TM-T',
      ]),
    );
    // Signed, so that the claim of the file is told no more.
    expect(quality).not.toContain('accepted or rejected receipt R-1 (claimed, not signed)');
    expect(partsOf(facts, 'P-QE')).toContain('accepted or rejected receipt R-1 (claimed, not signed)');
  });

  it('leave out what a statement covers of other lots, and name the place that a deputy took', () => {
    const signed = signedFacts(facts);
    const [first] = signed.signatures.filter(({ statement: { meaning } }) => meaning === 'approved');
    const said = first!.statement;
    const elsewhere = { kind: said.subjects[0]!.kind, key: 'of-another-lot', revision: 1, digest: 'e'.repeat(64) };
    const person = { ...said.person, code: 'P-DQ', deputyFor: 'P-QE' };
    const both = { ...first!, statement: { ...said, person, subjects: [...said.subjects, elsewhere] } };
    const parts = partsInLot({ ...signed, signatures: [both] }).filter((part) => part.person === 'P-DQ');
    expect(parts.map(({ key, deputyFor }) => [key, deputyFor])).toEqual([[said.subjects[0]!.key, 'P-QE']]);
  });

  it('tell makers, testers and deciders, scans and loads included', () => {
    const more = edited(signedFacts(facts, ...decidedByBoth('a'.repeat(64))), ({ lot, pinned }: Editable) => {
      const body = pinned.find(({ kind }: Editable) => kind === 'lot').body;
      const at = '2031-03-05T09:00:00+01:00';
      for (const one of [lot.body, body]) {
        one.steps = [{ step: 'clean', by: 'P-CL', at, load: 'LD-1' }];
        one.scans = [
          {
            specimen: 'L-1-W1',
            scan: 'S1',
            file: 'scans/a.ply',
            form: 'ply',
            ucum: 'mm',
            when: 'final',
            against: { what: 'design' },
            alignment: { how: 'as given' },
            instrument: 'I-MIC',
            by: 'P-SC',
            at,
          },
        ];
      }
      const load = { kind: 'process-load', format: 1, load: 'LD-1', step: 'clean', equipment: 'M1', at, by: 'P-LD' };
      const cycle = [{ parameter: 'time', value: '5', ucum: 'min' }];
      const bare = { kind: 'process-load', key: 'LD-1', revision: 1, digest: 'b'.repeat(64), recordedAt: at };
      pinned.push({ ...bare, body: { ...load, cycle, implants: ['L-1-I1'] } });
    });
    expect(doersAmong(partsInLot(more))).toEqual({
      maker: ['P-CL', 'P-LD', 'P-OP'],
      tester: ['P-AN', 'P-SC'],
      decider: ['P-PE', 'P-QE'],
    });
  });
});

describe('what the record says of the independence of a signer', () => {
  it('is what was asked, and then the parts that they did have', () => {
    const signed = signedFacts(facts);
    expect(toldOf(signed, 'P-RL', 'released', 'P-QE')).toEqual([
      'performed no build step of this lot, performed no test of this lot, decided no finding of this lot, did not review this lot file: as required',
      'no other part in this lot',
    ]);
    const [tested, others] = toldOf(signed, 'P-QE', 'reviewed');
    expect(tested).toBe('performed no build step of this lot, performed no test of this lot: as required');
    expect(others).toMatch(/^also: opened lot L-1; .*approved \d+ things; checked 2 things$/);
  });

  it.each([
    ['ran the build', 'P-OP', 'performed a build step of this lot'],
    ['measured', 'P-AN', 'performed a test of this lot'],
    ['decided a finding', 'P-PE', 'decided a finding of this lot'],
    ['reviewed', 'P-RV', 'reviewed this lot file'],
  ])('does not hold for who %s', (_, code, says) => {
    const signed = signedFacts(facts, ...decidedByBoth('a'.repeat(64)));
    expect(toldOf(signed, code, 'released', 'P-RV')[0]).toBe(`not as required: ${says}`);
  });
});
