import fs from 'node:fs';
import { clauseDocuments } from '../../src/design-file/paper/sections-on-record.js';
import { DesignIndex } from '../../src/design-history/design-index.js';
import { GAP_RULES } from '../../src/design-history/gaps/catalogue.js';
import { DESIGN_SECTIONS, parseDesignTemplate } from '../../src/report/design-template.js';
import { CLAUSES } from '../../src/report/phrases/design-clauses.js';
import { DESIGN_PAPER } from '../../src/report/phrases/design-paper.js';
import { designTemplateText } from '../../src/report/standard-template.js';
import { factsOf, wholeHistory } from '../support/whole-history.js';

/**
 * What each clause is about, as the cell's brief of the trade tells it from the published texts, and whether it was seen there
 * (quoted or told by a public text) or is told from memory. Written down here by itself, and not read from the table.
 */
const EXPECTED: readonly (readonly [clause: string, about: RegExp, isSeen: boolean])[] = [
  ['ISO 13485:2016 4.2.3', /file.*type of device/, true],
  ['ISO 13485:2016 4.2.4', /control of documents/, true],
  ['ISO 13485:2016 7.3.2', /plan/, false],
  ['ISO 13485:2016 7.3.3', /input/, false],
  ['ISO 13485:2016 7.3.4', /output/, false],
  ['ISO 13485:2016 7.3.5', /review/, false],
  ['ISO 13485:2016 7.3.6', /verification/, false],
  ['ISO 13485:2016 7.3.7', /^validation of the design/, false],
  ['ISO 13485:2016 7.3.8', /transfer/, false],
  ['ISO 13485:2016 7.3.9', /change/, false],
  ['ISO 13485:2016 7.3.10', /file of design and development/, false],
  ['ISO 13485:2016 7.4.1', /purchasing/, true],
  ['ISO 13485:2016 7.5.6', /validation of processes/, false],
  ['ISO 13485:2016 7.5.11', /keeping product/, false],
  ['ISO 14971:2019 4.5', /file of risk management/, false],
  ['21 CFR 820 (from 2026-02-02)', /quality system/, true],
  ['21 CFR 11.50 and 11.70', /signatures.*tied to records/, false],
  ['Regulation (EU) 2017/745 Annex II 1 to 6', /technical documentation/, false],
  ['Regulation (EU) 2017/745 Annex III', /technical documentation after/, false],
  ['Regulation (EU) 2017/745 Annex XIII 2', /custom-made/, true],
];

/** Clauses below one that has a row: of ISO 14971, from analysis to control. */
const WITHIN: Readonly<Record<string, string>> = {
  'ISO 14971:2019 7.1': 'ISO 14971:2019 4.5',
  'ISO 14971:2019 7.2': 'ISO 14971:2019 4.5',
};

describe('the clauses that the file of a design answers', () => {
  it('are these, in this order, about what each is about', () => {
    expect(CLAUSES.map(({ clause }) => clause)).toEqual(EXPECTED.map(([clause]) => clause));
    for (const [index, [clause, about]] of EXPECTED.entries()) {
      expect([clause, CLAUSES[index]!.title]).toEqual([clause, expect.stringMatching(about)]);
      expect([clause, CLAUSES[index]!.sections.length > 0]).toEqual([clause, true]);
    }
  });

  it('are marked from memory where nobody saw them, on paper and in the document', () => {
    const document = fs.readFileSync('docs/design-history.md', 'utf8');
    for (const [index, [clause, , isSeen]] of EXPECTED.entries()) {
      const row = CLAUSES[index]!;
      const mark = isSeen ? 'as public texts quote it' : 'from memory';
      expect([clause, row.mark]).toEqual([clause, mark]);
      expect(DESIGN_PAPER.clauseOf(row)).toBe(`${clause}, ${row.title} (${mark})`);
      expect(document).toContain(`| ${clause} | ${row.title} | ${row.asks} | ${mark} |`);
    }
  });

  it('count no documents where a number of them shows nothing', () => {
    const design = new DesignIndex(factsOf(wholeHistory()));
    const counted = Object.fromEntries(CLAUSES.map((row) => [row.clause, clauseDocuments(row, design)]));
    expect(counted).toMatchObject({
      'ISO 13485:2016 4.2.4': '',
      'ISO 13485:2016 7.5.11': '',
      '21 CFR 11.50 and 11.70': '',
      'ISO 13485:2016 7.3.2': '1',
      'ISO 14971:2019 4.5': '2',
      'ISO 13485:2016 7.3.10': '0',
    });
  });

  it('hold every clause by which a rule on gaps asks', () => {
    const known = new Set(CLAUSES.map(({ clause }) => clause));
    for (const { code, clause } of GAP_RULES) expect([code, known.has(WITHIN[clause] ?? clause)]).toEqual([code, true]);
  });
});

/** What a design history file holds (design and development file, ISO 13485:2016 7.3.10), and the sections that hold it. */
const CONTENTS: Readonly<Record<string, readonly (typeof DESIGN_SECTIONS)[number][]>> = {
  'open items': ['gaps'],
  'scope, family and envelope': ['scope'],
  'design plan': ['plan'],
  'user needs and inputs': ['needs'],
  outputs: ['outputs'],
  'trace matrix': ['matrix'],
  'risk summary': ['risks'],
  verification: ['verification'],
  validation: ['validation'],
  'design reviews': ['reviews'],
  'software and workflow validation': ['software'],
  'process validation': ['process'],
  'materials and suppliers': ['materials'],
  'biological evaluation': ['biological'],
  'degradation and strength retention': ['degradation'],
  'sterilisation, pack, shelf life': ['packaging'],
  'labelling, UDI, card decision': ['labelling'],
  transfer: ['transfer'],
  'change history': ['changes', 'baselines'],
  'clause cross-reference': ['clauses'],
  'index of lots made': ['lots'],
  'signatures and proof': ['signatures', 'proof'],
  'what the shop floor works by': ['device-file'],
  'files and cautions': ['attachments', 'cautions'],
};

it.each(['design-history', 'design-annex-ii'] as const)(
  '%s has every section that such a file holds, once',
  (order) => {
    const template = parseDesignTemplate(order, designTemplateText(order), 'template');
    const sections = template.sections.map(({ section }) => section);
    expect([...sections].sort()).toEqual(Object.values(CONTENTS).flat().sort());
    expect(new Set(sections).size).toBe(DESIGN_SECTIONS.length);
  },
);
