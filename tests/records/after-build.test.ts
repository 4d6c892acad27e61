import { execFileSync } from 'node:child_process';
import { renderRecord } from '../../src/records/render-record.js';
import { makeCell } from '../support/cell.js';
import { DESIGN_DOCUMENTS } from '../support/documents/design-history.js';
import { withFile } from '../support/pdf-objects.js';
import { assessedLot, contentOf } from '../support/record-content.js';
import { withTool } from '../support/tools.js';

/** A lot of which one implant was kept, with tools, a risk control and labels that were read. */
function cell() {
  const made = makeCell();
  for (const name of ['hazard', 'control']) {
    made.documents[`site/design/${name}.yaml`] = structuredClone(DESIGN_DOCUMENTS[`site/design/${name}.yaml`]!);
  }
  delete made.documents['site/design/control.yaml']!.verifiedBy;
  made.documents['site/tips.yaml'] = {
    ...{ kind: 'receipt', format: 1, receipt: 'R-9', supplier: 'S1', material: 'carbide', category: 'tool' },
    ...{ supplierLot: 'T-1', quantity: { value: '10', ucum: '1' }, receivedAt: '2031-01-12T08:00:00+01:00' },
    ...{ status: 'accepted', acceptance: { by: 'P-QE', at: '2031-01-13T08:00:00+01:00' } },
  };
  made.documents['site/tip.yaml'] = {
    ...{ kind: 'consumable', format: 1, consumable: 'TIP-7', category: 'tip', material: 'carbide' },
    ...{ made: [{ receipt: 'R-9' }], by: 'P-OP', inUseFrom: '2031-01-14T08:00:00+01:00' },
  };
  const lot = made.documents['lots/L-1/lot.yaml']!;
  lot.builds[0].consumables = [{ consumable: 'TIP-7', step: 'peen', uses: 3 }];
  lot.fates = [
    { part: 'L-1-I2', as: 'retained', at: '2031-03-04T09:00:00+01:00', by: 'P-QE', evidence: 'shelf.txt' },
    { part: 'L-1-W1', as: 'tested', at: '2031-03-04T09:00:00+01:00', by: 'P-AN' },
  ];
  made.files['lots/L-1/shelf.txt'] = 'shelf 4, invented';
  const inspected = { sample: 1, by: 'P-OP', at: '2031-03-04T11:00:00+01:00' };
  lot.labels = { printed: 2, used: 1, destroyed: 1, inspected, read: ['L-1-I1'] };
  return made;
}

withTool('pdftotext', 'what the record tells of a lot after its build', () => {
  let text: string;
  beforeAll(async () => {
    const { pdf } = await renderRecord(contentOf(await assessedLot(cell())));
    const read = (file: string) => execFileSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' });
    text = withFile(Buffer.from(pdf), read).replace(/[ \t]+/g, ' ');
  });

  it('names each tool with what it was taken from, where it was used and how often', () => {
    expect(text).toMatch(/TIP-7 tip of carbide R-9, lot T-1 of the supplier from .* build M1-101, peening 3\n/);
  });

  it('names the risk controls that its characteristics carry, and says who approved them', () => {
    expect(text).toMatch(/RC-1 rev 1 Least strength: a limit on/);
    expect(text).toMatch(/HZ-1 rev 1/);
  });

  it('says what became of each part that is gone, and what shows it', () => {
    expect(text).toMatch(/L-1-I2 retained .* shelf\.txt/);
    expect(text).toMatch(/L-1-W1 destructively tested .* value/);
  });

  it('gives each code as it was read, with the implant that it names', () => {
    expect(text).toMatch(/Codes as they were read off labels/);
    expect(text).toMatch(/1 L-1-I1 L-1-I1/);
  });

  it('says of nothing after the build that no version records it', () => {
    expect(text).not.toMatch(/(numbers|number): not recorded/);
  });
});
