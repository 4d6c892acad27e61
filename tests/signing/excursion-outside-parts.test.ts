import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import { addLot, type Cell, logText } from '../support/cell.js';
import { refusalOf, SigningCell } from '../support/signing-cell.js';
import { withTools } from '../support/tools.js';

/**
 * An excursion that the recorder wrote down under a place where no part of the lot was built: nobody can say which part
 * it spared. Rows after the last layer, at one a second; the recipe's reject limit for oxygen is 100 ppm.
 */
function addPurge(cell: Cell, lot: string, day: string, where: string, ppm: number): void {
  const start = Date.parse(`${day}T08:02:01+01:00`);
  const rows = Array.from({ length: 20 }, (_, second) => {
    const stamp = new Date(start + second * 1000).toISOString();
    return `${stamp},${where},${ppm}\n`;
  });
  cell.files[`lots/${lot}/logs/run.csv`] = `${logText(day, () => 8)}${rows.join('')}`;
  cell.documents[`lots/${lot}/lot.yaml`]!.builds[0].openedAt = `${day}T08:02:21+01:00`;
}

const DAY = '2031-03-03';
/** Layer, zone and step as logged. */
const PLACES = {
  'L-1': '0,chamber,purge',
  'L-2': '3,chamber,deposit',
  'L-3': '0,,purge',
} as const;
const units = (lot: string) => [`${lot}-I1`, `${lot}-I2`];

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open((what) => {
    for (const [index, [lot, where]] of Object.entries(PLACES).entries()) {
      if (index > 0) addLot(what, lot, 101 + index, DAY, { rm: 230, thickness: 1.5 });
      addPurge(what, lot, DAY, where, 950);
    }
    addLot(what, 'L-9', 109, DAY, { rm: 230, thickness: 1.5 });
    addPurge(what, 'L-9', DAY, PLACES['L-1'], 8);
  });
});
afterAll(() => cell.close());

it.each(Object.keys(PLACES))(
  '950 ppm for 20 s at a place of no part stands in the way of every implant: %s',
  async (lot) => {
    const { assessment } = await cell.services.assessor.assess(lot, 'local:tester');
    expect(assessment.releasable).toEqual([]);
    for (const { verdict, why } of assessment.units) {
      expect(verdict).toBe('does not conform');
      expect(why.map(({ check }) => check)).toContain('log-findings-decided');
    }
    await cell.review(lot);
    for (const serial of units(lot)) {
      expect(await refusalOf(cell.release(lot, [serial]))).toMatch(
        new RegExp(`${serial} may not be released: Log finding .*excursion of oxygen to 950`),
      );
    }
  },
);

it('is released with the same rows at 8 ppm once two people decided that the unknown place is no harm, and not before', async () => {
  const findings = await cell.logFindings('L-9', 'action');
  await cell.review('L-9');
  const release = () => cell.release('L-9', units('L-9'));
  expect(await refusalOf(release())).toContain('L-9-I1 may not be released: Log finding');
  await cell.decide('P-PE', findings);
  await cell.review('L-9');
  expect(await refusalOf(release())).toContain('Quality engineer: decide the finding too');
  await cell.decide('P-QE', findings);
  await cell.review('L-9');
  await release();
});

withTools(['pdftotext'], 'page 1 of the record', () => {
  const firstPage = async (lot: string) => {
    const { file } = await cell.services.issuer.issue(lot, 'local:tester');
    expect(fs.existsSync(file)).toBe(true);
    return execFileSync('pdftotext', ['-layout', '-l', '1', file, '-'], { encoding: 'utf8' }).replace(/\s+/g, ' ');
  };

  it('says that the implants do not conform, and which check fails', async () => {
    const text = await firstPage('L-1');
    expect(text).toContain('2 implants: 2 do not conform');
    expect(text).not.toMatch(/every planned value and check/i);
    expect(text).toMatch(/\d+ log findings? at level reject, page/);
    expect(text).toMatch(/or decided: fails/);
  });

  it('says that everything conforms where it does', async () => {
    expect(await firstPage('L-9')).toContain('Every planned value and');
  });
});
