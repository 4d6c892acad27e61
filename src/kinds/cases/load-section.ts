import { z } from 'zod';
import { NotNegative, PositiveDecimal } from '../fields.js';
import type { Contradiction } from '../kind.js';

/** The section that carries the load of a zone: a plate or a round core by its size, or any by what is left as it goes. */
export const LoadSection = z.discriminatedUnion('shape', [
  z
    .strictObject({
      shape: z
        .enum(['plate', 'round'])
        .describe('a plate loses its faces as it degrades, a round core loses all around'),
      sizeMm: PositiveDecimal.describe('thickness of the plate or diameter of the core'),
    })
    .describe('plate or round core'),
  z
    .strictObject({
      shape: z.literal('table'),
      rows: z
        .array(
          z.strictObject({
            depthUm: NotNegative.describe('loss on every face; 0 in the first row'),
            areaMm2: NotNegative.describe('area that is left'),
            sectionModulusMm3: NotNegative.describe('section modulus that is left'),
            secondMomentMm4: NotNegative.describe('second moment of area that is left'),
          }),
        )
        .min(2)
        .describe('from the whole section on, deeper row by row'),
    })
    .describe('any section, by what is left of it at each depth'),
]);
export type LoadSection = z.infer<typeof LoadSection>;

const LEFT = ['areaMm2', 'sectionModulusMm3', 'secondMomentMm4'] as const;
export type SectionRow = Readonly<Record<'depthUm' | (typeof LEFT)[number], number>>;

/** A row as it was written, in numbers. */
export const figuresOf = (row: Readonly<Record<keyof SectionRow, string>>): SectionRow => ({
  depthUm: Number(row.depthUm),
  areaMm2: Number(row.areaMm2),
  sectionModulusMm3: Number(row.sectionModulusMm3),
  secondMomentMm4: Number(row.secondMomentMm4),
});

/** What is wrong with a table of what is left of a section, first of all: no start, no loss, or more left than before. */
export function sectionTableFault(
  rows: readonly SectionRow[],
): { readonly field: string; readonly expected: string } | undefined {
  const [start] = rows;
  if (start?.depthUm !== 0) return { field: '0.depthUm', expected: '0: the section at the start' };
  const empty = LEFT.find((name) => !(start[name] > 0));
  if (empty) return { field: `0.${empty}`, expected: 'more than 0: something that can be lost' };
  for (const [index, row] of rows.entries()) {
    const before = rows[index - 1];
    if (before === undefined) continue;
    if (!(row.depthUm > before.depthUm)) return { field: `${index}.depthUm`, expected: 'deeper than the row before' };
    const grown = LEFT.find((name) => row[name] > before[name]);
    if (grown) return { field: `${index}.${grown}`, expected: 'no more left than in the row before' };
  }
  return undefined;
}

/** The same of a document. @param field of the section. */
export function sectionContradictions(section: LoadSection | undefined, field: string): Contradiction[] {
  if (section?.shape !== 'table') return [];
  const rows = section.rows.map(figuresOf);
  const fault = sectionTableFault(rows);
  if (fault === undefined) return [];
  const [row, name] = fault.field.split('.') as [string, keyof SectionRow];
  return [
    {
      field: `${field}.rows[${row}].${name}`,
      found: String(rows[Number(row)]![name]),
      expected: fault.expected,
      remedy: 'correct the row, or put the rows in order of depth',
    },
  ];
}
