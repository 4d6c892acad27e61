import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { prepareZXingModule, readBarcodes } from 'zxing-wasm/reader';
import { readScannedCode } from '../../../src/base/element-strings/scanned-code.js';
import { elementsOf, unitIdentifierOf } from '../../../src/base/element-strings/unit-identifier.js';
import { BadInputError } from '../../../src/base/errors.js';
import { dataMatrix } from '../../../src/records/papers/data-matrix.js';
import { renderLabelSheet } from '../../../src/records/papers/label-sheet.js';
import type { PaperContent } from '../../../src/records/papers/paper.js';
import { renderStatement } from '../../../src/records/papers/statement.js';
import { renderUnitSheet } from '../../../src/records/papers/unit-sheet.js';
import { standardTemplate } from '../../../src/report/standard-template.js';
import { type Cell, makeCell } from '../../support/cell.js';
import { checkPdf } from '../../support/pdf-check.js';
import { PdfObjects, withFile } from '../../support/pdf-objects.js';
import { assessedLot, servicesWith } from '../../support/record-content.js';
import { withTool, withTools } from '../../support/tools.js';

// Whole records are rendered, assessed and verified here, some of them several times.
const MANUFACTURER = {
  name: 'Example Implants',
  address: 'Example Street 1, Exampleton',
  sites: ['Example Street 1, Exampleton'],
};

async function contentFrom(change: (cell: Cell) => void, released: readonly string[] = []): Promise<PaperContent> {
  const cell = makeCell();
  change(cell);
  const { facts, dossierSha256, assessment } = await assessedLot(cell);
  return {
    facts,
    dossierSha256,
    units: assessment.units,
    checks: assessment.checks,
    decisions: new Map(
      released.map((serial) => [
        serial,
        { words: 'released for distribution by R. Example', isReleased: true, mayBeLabelled: true },
      ]),
    ),
    program: 'Lotwright (test)',
    printedAt: '2031-05-04T10:00:00.000Z',
    printedBy: 'local:tester',
  };
}

const family = (cell: Cell) => cell.documents['site/family.yaml']!;
const CAUTIONS = standardTemplate().cautions;

function textOf(pdf: Buffer): string {
  return withFile(pdf, (file) => execFileSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' }));
}

function readyReader(): void {
  const wasm = createRequire(import.meta.url).resolve('zxing-wasm/reader/zxing_reader.wasm');
  prepareZXingModule({ overrides: { wasmBinary: new Uint8Array(readFileSync(wasm)).buffer as ArrayBuffer } });
}

async function codesOn(pdf: Buffer): Promise<{ text: string; bytes: Buffer; isGs1: boolean }[]> {
  readyReader();
  const image = withFile(pdf, (file, folder) => {
    execFileSync('pdftoppm', ['-r', '300', '-f', '1', '-l', '1', '-png', file, path.join(folder, 'page')]);
    return readFileSync(path.join(folder, 'page-1.png'));
  });
  const found = await readBarcodes(new Uint8Array(image), {
    formats: ['DataMatrix'],
    maxNumberOfSymbols: 20,
    textMode: 'Plain',
  });
  return found
    .map(({ bytes, text, contentType }) => ({ text, bytes: Buffer.from(bytes), isGs1: contentType === 'GS1' }))
    .sort((a, b) => (a.text < b.text ? -1 : 1));
}

withTools(['pdftoppm', 'pdftotext'], 'codes of units, read back by a general decoder from the page at 300 dpi', () => {
  it('hold the UDI, with the separator behind the lot, where the route asks for one', async () => {
    const content = await contentFrom((cell) => {
      Object.assign(family(cell), { route: 'patient-matched', udiDi: '09506000134352' });
    });
    const codes = await codesOn(await renderLabelSheet(content, ['L-1-I1', 'L-1-I2']));
    const built = content.facts.lot.body.builds[0]!.openedAt.slice(2, 10).replaceAll('-', '');
    expect(codes.map(({ text, isGs1 }) => ({ text, isGs1 }))).toEqual(
      ['L-1-I1', 'L-1-I2'].map((serial) => ({
        text: `010950600013435211${built}10L-1\u001d21${serial}`,
        isGs1: true,
      })),
    );
  });

  it('hold the serial where the route has no UDI', async () => {
    const content = await contentFrom(() => undefined);
    const codes = await codesOn(await renderLabelSheet(content, ['L-1-I1', 'L-1-I2']));
    expect(codes.map(({ text, isGs1 }) => [text, isGs1])).toEqual([
      ['L-1-I1', false],
      ['L-1-I2', false],
    ]);
  });

  it('stand on the sheet for the theatre too', async () => {
    const content = await contentFrom(() => undefined);
    const codes = await codesOn(await renderUnitSheet(content, 'L-1-I2', CAUTIONS));
    expect(codes.map(({ text }) => text)).toEqual(['L-1-I2']);
  });
});

it('draws brackets of a lot and a serial as what they are', async () => {
  readyReader();
  const unit = { gtin: '09506000134352', lot: 'A(21)B', serial: "(10)!%&'*+,-./:;<=>?_".slice(0, 20) };
  const modules = dataMatrix(elementsOf(unit));
  const scale = 4;
  const size = (modules.length + 4) * scale;
  const data = new Uint8ClampedArray(size * size * 4).fill(255);
  for (let at = 0; at < size * size; at++) {
    const [row, column] = [Math.floor(at / size / scale) - 2, Math.floor((at % size) / scale) - 2];
    if (modules[row]?.[column]) data.fill(0, at * 4, at * 4 + 3);
  }
  const image = { data, width: size, height: size, colorSpace: 'srgb' } as ImageData;
  const [read] = await readBarcodes(image, { formats: ['DataMatrix'], textMode: 'Plain' });
  const code = readScannedCode(`${read!.symbologyIdentifier}${read!.text}`, 2031);
  expect(code.form === 'element string' && unitIdentifierOf(code.elements, 2031)).toEqual(unit);
});

withTool('pdftotext', 'labels', () => {
  it.each([
    ['custom-made', 'Custom-made device'],
    ['investigational', 'CAUTION—Investigational device. Limited by Federal'],
    ['in-house', 'Not to be given to another legal entity'],
  ])('of the route %s carry its words', async (route, words) => {
    const content = await contentFrom((cell) => Object.assign(family(cell), { route, manufacturer: MANUFACTURER }));
    const text = textOf(await renderLabelSheet(content, ['L-1-I1'])).replace(/\s+/g, ' ');
    expect(text).toContain(words);
    expect(text).toContain('Example Implants, Example Street 1');
    expect(text).toContain('DRAFT, not to be put on a pack: not to be labelled yet are L-1-I1');
  });

  it('of released units are no draft', async () => {
    const content = await contentFrom(() => undefined, ['L-1-I1']);
    expect(textOf(await renderLabelSheet(content, ['L-1-I1']))).toContain('Every unit on this sheet may be labelled.');
  });

  it('are refused for a serial that the lot does not have', async () => {
    const content = await contentFrom(() => undefined);
    await expect(renderLabelSheet(content, ['L-9-I1'])).rejects.toMatchObject({ code: 'NOT_FOUND' });
  });
});

withTool('pdftotext', 'the sheet of a unit', () => {
  it('is one page that names its own case and no other', async () => {
    const content = await contentFrom(() => undefined, ['L-1-I1']);
    const [own, other] = ['L-1-I1', 'L-1-I2'].map(
      (serial) => content.facts.lot.body.implants.find((implant) => implant.serial === serial)!.case,
    );
    expect(own).not.toBe(other);
    const text = textOf(await renderUnitSheet(content, 'L-1-I1', CAUTIONS));
    expect(text.split('\f').filter((page) => page.trim() !== '')).toHaveLength(1);
    expect(text).toContain(own!);
    expect(text).not.toContain(other!);
    expect(text).not.toContain('L-1-I2');
    expect(text).toContain('Released for distribution. released for distribution by R. Example');
    expect(text).toContain(CAUTIONS.sterilisation);
  });

  it('says in capitals that a unit is not released', async () => {
    const content = await contentFrom(() => undefined);
    expect(textOf(await renderUnitSheet(content, 'L-1-I1', CAUTIONS))).toContain(
      'NOT RELEASED FOR DISTRIBUTION: not to be used.',
    );
  });

  it('is refused when it would need a second page', async () => {
    const content = await contentFrom((cell) => Object.assign(family(cell), { title: 'long name '.repeat(390) }));
    await expect(renderUnitSheet(content, 'L-1-I1', CAUTIONS)).rejects.toThrow('does not fit on one page');
  });
});

withTool('pdftotext', 'the statement of a custom-made device', () => {
  const complete = (cell: Cell) => {
    Object.assign(family(cell), {
      manufacturer: MANUFACTURER,
      conformity: {
        exceptions: [{ requirement: 'Annex I 10.4.1', grounds: 'no substance of concern was found' }],
        substances: 'none',
      },
    });
    for (const document of Object.values(cell.documents)) {
      if (document.kind === 'case') document.prescribedCharacteristics = 'plate of 1.5 mm with four holes';
    }
  };

  it('says what Annex XIII section 1 asks for', async () => {
    const content = await contentFrom(complete);
    const text = textOf(await renderStatement(content, 'L-1-I1')).replace(/\s+/g, ' ');
    for (const words of [
      'Example Implants, Example Street 1, Exampleton',
      'serial L-1-I1, lot L-1',
      'the exclusive use of the patient known to the institution under the code',
      'plate of 1.5 mm with four holes',
      'Annex I 10.4.1',
      'no substance of concern was found',
    ]) {
      expect(text).toContain(words);
    }
  });

  it.each<[string, (cell: Cell) => void]>([
    ['family.manufacturer', (cell) => delete family(cell).manufacturer],
    ['family.manufacturer.sites', (cell) => Object.assign(family(cell).manufacturer, { sites: [] })],
    ['family.conformity', (cell) => delete family(cell).conformity],
    [
      'case.prescribedCharacteristics',
      (cell) => {
        for (const document of Object.values(cell.documents)) delete document.prescribedCharacteristics;
      },
    ],
  ])('is refused without %s, which it names', async (field, spoil) => {
    const content = await contentFrom((cell) => {
      complete(cell);
      spoil(cell);
    });
    const refused = await renderStatement(content, 'L-1-I1').catch((error: unknown) => error);
    expect(refused).toBeInstanceOf(BadInputError);
    expect((refused as BadInputError).problems.map((problem) => problem.field)).toContain(field);
  });

  it('is refused on another route', async () => {
    const content = await contentFrom((cell) => {
      complete(cell);
      family(cell).route = 'patient-matched';
    });
    await expect(renderStatement(content, 'L-1-I1')).rejects.toMatchObject({ code: 'REFUSED' });
  });
});

withTool('qpdf', 'the structure of papers', () => {
  it('keeps the rules that records keep', async () => {
    const content = await contentFrom((cell) => {
      Object.assign(family(cell), { route: 'patient-matched', udiDi: '09506000134352' });
    });
    for (const pdf of [
      await renderLabelSheet(content, ['L-1-I1']),
      await renderUnitSheet(content, 'L-1-I1', CAUTIONS),
    ]) {
      expect(checkPdf(PdfObjects.read(pdf))).toEqual([]);
    }
  });
});

describe('papers from a data folder', () => {
  it('are written whole, say that they are drafts, and are refused for a case that the lot does not have', async () => {
    const services = await servicesWith(makeCell());
    try {
      const labels = await services.papers.write('L-1', 'local:tester', { paper: 'labels', forCase: 'K-101-2' });
      expect(labels).toMatchObject({ serials: ['L-1-I2'], draft: true });
      expect(readFileSync(labels.file).subarray(0, 5).toString()).toBe('%PDF-');
      const request = { paper: 'labels', forCase: 'K-0' } as const;
      await expect(services.papers.write('L-1', 'local:tester', request)).rejects.toMatchObject({ code: 'NOT_FOUND' });
      // The end of a hold that nobody signed ends none: no paper tells of it.
      await services.store.change('local:tester', (change) =>
        change.events.add({ type: 'hold-lifted', lot: 'L-1', units: ['L-1-I1'] }, 'forged'),
      );
      const statement = services.papers.write('L-1', 'local:tester', { paper: 'statement', serial: 'L-1-I1' });
      await expect(statement).rejects.toMatchObject({
        code: 'ALTERED',
        message: expect.stringMatching(/\(hold-lifted\) does not hold \(not signed\)/),
      });
    } finally {
      await services.store.close();
    }
  });
});
