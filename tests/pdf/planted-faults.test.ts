import { renderTwice } from '../../src/pdf/render.js';
import { checkPdf } from '../support/pdf-check.js';
import { type PdfDictionary, PdfObjects } from '../support/pdf-objects.js';
import { drawSample, SAMPLE_IDENTITY } from '../support/record-sample.js';
import { withTool } from '../support/tools.js';

/** The first object of the file for which the question is answered with yes. */
function first(pdf: PdfObjects, wanted: (dictionary: PdfDictionary) => boolean): PdfDictionary {
  for (const { dictionary } of pdf.dictionaries()) if (wanted(dictionary)) return dictionary;
  throw new Error('the sample has no such object');
}

const element = (pdf: PdfObjects, type: string) =>
  first(pdf, (dictionary) => dictionary['/S'] === type && '/P' in dictionary);
const ofType = (pdf: PdfObjects, type: string) => first(pdf, (dictionary) => dictionary['/Type'] === type);

function editPage(pdf: PdfObjects, number: number, edit: (content: string) => string): void {
  const contents = pdf.dictionary(pdf.pages()[number - 1])['/Contents'];
  const before = pdf.bytes(contents).toString('latin1');
  const after = edit(before);
  if (after === before) throw new Error('the edit changed nothing');
  pdf.setBytes(contents, Buffer.from(after, 'latin1'));
}

function editMetadata(pdf: PdfObjects, from: string, to: string): void {
  const reference = pdf.catalogue['/Metadata'];
  pdf.setBytes(reference, pdf.bytes(reference).toString('utf8').replace(from, to));
}

const FAULTS: readonly (readonly [fault: string, plant: (pdf: PdfObjects) => void, finding: RegExp])[] = [
  ['no language', (pdf) => delete pdf.catalogue['/Lang'], /language/],
  ['not marked', (pdf) => delete pdf.catalogue['/MarkInfo'], /tagged/],
  ['title hidden', (pdf) => delete pdf.catalogue['/ViewerPreferences'], /show the title/],
  ['no identifier', (pdf) => delete pdf.trailer['/ID'], /identifier/],
  ['an action on opening', (pdf) => Object.assign(pdf.catalogue, { '/OpenAction': '1 0 R' }), /OpenAction/],
  ['a title of its own', (pdf) => Object.assign(information(pdf), { '/Title': 'u:Other' }), /\/Title differs/],
  ['another part', (pdf) => editMetadata(pdf, '<pdfaid:part>3', '<pdfaid:part>2'), /PDF\/A-3a/],
  ['no output intent', (pdf) => delete pdf.catalogue['/OutputIntents'], /output intent/],
  ['an intent that is no profile', (pdf) => pdf.setBytes(profile(pdf), 'nothing'), /RGB profile/],
  ['bookmarks not counted', (pdf) => delete pdf.dictionary(pdf.catalogue['/Outlines'])['/Count'], /bookmark/],
  ['an attachment without relationship', (pdf) => delete ofType(pdf, '/Filespec')['/AFRelationship'], /AFRelationship/],
  ['an attachment not listed', (pdf) => Object.assign(pdf.catalogue, { '/AF': [] }), /not listed/],
  ['an attachment that was changed', (pdf) => pdf.setBytes(embedded(pdf), '{"format":2}\n'), /MD5/],
  ['an attachment that grew', (pdf) => pdf.setBytes(embedded(pdf), '{"format":1, "more":2}\n'), /wrong size/],
  ['a font left out', (pdf) => delete ofType(pdf, '/FontDescriptor')['/FontFile2'], /not embedded/],
  ['a font without Unicode', (pdf) => delete fontOf(pdf)['/ToUnicode'], /Unicode/],
  ['a link that does not print', (pdf) => Object.assign(ofType(pdf, '/Annot'), { '/F': 0 }), /printed/],
  ['a link without words', (pdf) => delete ofType(pdf, '/Annot')['/Contents'], /where it leads/],
  ['a link outside the structure', (pdf) => delete ofType(pdf, '/Annot')['/StructParent'], /not in the structure/],
  [
    'a script',
    (pdf) =>
      Object.assign(
        first(pdf, (d) => d['/S'] === '/GoTo'),
        { '/S': '/JavaScript' },
      ),
    /JavaScript/,
  ],
  ['no structure', (pdf) => delete pdf.catalogue['/StructTreeRoot'], /no structure tree/],
  ['a picture without words', (pdf) => delete element(pdf, '/Figure')['/Alt'], /alternative text/],
  ['a picture without place', (pdf) => delete element(pdf, '/Figure')['/A'], /where it stands/],
  ['a head without scope', (pdf) => delete element(pdf, '/TH')['/A'], /speaks for/],
  ['a cell that is no cell', (pdf) => Object.assign(element(pdf, '/TD'), { '/S': '/P' }), /P stands in TR/],
  ['an unknown type', (pdf) => Object.assign(element(pdf, '/P'), { '/S': '/Paragraph' }), /unknown type/],
  ['a heading that jumps', (pdf) => Object.assign(element(pdf, '/H2'), { '/S': '/H3' }), /level 3 follows/],
  ['a wrong parent', (pdf) => Object.assign(element(pdf, '/P'), { '/P': '1 0 R' }), /wrong parent/],
  ['an empty row', (pdf) => Object.assign(element(pdf, '/TR'), { '/K': [] }), /TR is empty/],
  ['content twice', (pdf) => twice(element(pdf, '/P')), /two elements/],
  ['content nowhere', (pdf) => Object.assign(element(pdf, '/P'), { '/K': [99_999] }), /on no page/],
  ['paint outside', (pdf) => editPage(pdf, 1, (content) => `${content}\n0 0 9 9 re f`), /outside the structure/],
  ['marking left open', (pdf) => editPage(pdf, 2, (content) => content.replace(/EMC\s*$/, '')), /leaves marked/],
  ['state not restored', (pdf) => editPage(pdf, 3, (content) => `q\n${content}`), /graphics state/],
  ['an artifact within text', (pdf) => editPage(pdf, 1, nestArtifact), /nests/],
  ['four colours', (pdf) => editPage(pdf, 1, (content) => `0 0 0 1 k\n${content}`), /CMYK/],
  ['a missing character', (pdf) => editPage(pdf, 1, (content) => content.replace(/\[</, '[<0000')), /does not have/],
  ['no mark of PDF/UA', (pdf) => editMetadata(pdf, '<pdfuaid:part>1', '<pdfuaid:part>2'), /06-002/],
  [
    'a mark that is not described',
    (pdf) => editMetadata(pdf, '<pdfaSchema:prefix>pdfuaid', '<pdfaSchema:prefix>x'),
    /describe/,
  ],
  [
    'tags in doubt',
    (pdf) => Object.assign(pdf.dictionary(pdf.catalogue['/MarkInfo']), { '/Suspects': true }),
    /01-006/,
  ],
  ['types that are mapped', (pdf) => Object.assign(structure(pdf), { '/RoleMap': { '/P': '/Span' } }), /02-001/],
  ['two roots', (pdf) => Object.assign(structure(pdf), { '/K': [...roots(pdf), ...roots(pdf)] }), /not one root/],
  ['a link held by a paragraph', (pdf) => Object.assign(element(pdf, '/Link'), { '/S': '/P' }), /28-011/],
  ['a note on a page', (pdf) => Object.assign(ofType(pdf, '/Annot'), { '/Subtype': '/Text' }), /28-002/],
  ['characters of another table', (pdf) => Object.assign(fontOf(pdf), { '/Encoding': '/Identity-V' }), /31-008/],
  ['glyphs of another table', (pdf) => Object.assign(descendantOf(pdf), { '/CIDToGIDMap': null }), /31-004/],
  ['a table nobody names', (pdf) => delete descendantOf(pdf)['/CIDSystemInfo'], /31-001/],
  ['a glyph of no character', (pdf) => noCharacter(pdf), /31-028/],
  ['a glyph that is wider than stated', (pdf) => widen(pdf), /states the width/],
  ['widths that are not stated', (pdf) => delete descendantOf(pdf)['/W'], /states the width 1000/],
  ['a glyph that is not there', (pdf) => editPage(pdf, 1, (content) => content.replace(/\[</, '[<0fff')), /glyph 4095/],
  ['a font that is none', (pdf) => pdf.setBytes(programOf(pdf), 'no font'), /no TrueType program/],
  ['a table without heads', (pdf) => withoutHeads(pdf), /15-003/],
  ['a row that is shorter', (pdf) => dropCell(pdf), /several lengths/],
  ['a first heading of level 2', (pdf) => Object.assign(element(pdf, '/H1'), { '/S': '/H2' }), /14-002/],
  ['no tab order', (pdf) => delete pdf.dictionary(pdf.pages()[0])['/Tabs'], /tab in the order/],
];

const structure = (pdf: PdfObjects) => pdf.dictionary(pdf.catalogue['/StructTreeRoot']);
const roots = (pdf: PdfObjects) => pdf.array(structure(pdf)['/K']);
const descendantOf = (pdf: PdfObjects) => pdf.dictionary(pdf.array(fontOf(pdf)['/DescendantFonts'])[0]);

const programOf = (pdf: PdfObjects) => pdf.dictionary(descendantOf(pdf)['/FontDescriptor'])['/FontFile2'];
const widthsOf = (pdf: PdfObjects) => pdf.array(pdf.array(descendantOf(pdf)['/W'])[1]) as number[];

/** By a fiftieth of an em, which nobody sees on the page. */
function widen(pdf: PdfObjects): void {
  widthsOf(pdf)[1]! += 20;
}

function noCharacter(pdf: PdfObjects): void {
  const reference = fontOf(pdf)['/ToUnicode'];
  const map = pdf.bytes(reference).toString('latin1');
  const before = /<[0-9a-f]{4}>(?=\s*\])/i.exec(map);
  if (before === null) throw new Error('the map of the sample is written otherwise');
  pdf.setBytes(reference, map.replace(before[0], '<FEFF>'));
}

function withoutHeads(pdf: PdfObjects): void {
  for (const { dictionary } of pdf.dictionaries()) if (dictionary['/S'] === '/TH') dictionary['/S'] = '/TD';
}

function dropCell(pdf: PdfObjects): void {
  const row = first(pdf, (dictionary) => dictionary['/S'] === '/TR' && pdf.array(dictionary['/K']).length > 2);
  row['/K'] = pdf.array(row['/K']).slice(1);
}

function information(pdf: PdfObjects): PdfDictionary {
  return pdf.dictionary(pdf.trailer['/Info']);
}

function profile(pdf: PdfObjects) {
  return pdf.dictionary(pdf.array(pdf.catalogue['/OutputIntents'])[0])['/DestOutputProfile'];
}

function embedded(pdf: PdfObjects) {
  const specification = first(pdf, (dictionary) => pdf.text(dictionary['/UF']) === 'dossier.json');
  return pdf.dictionary(specification['/EF'])['/F'];
}

function fontOf(pdf: PdfObjects): PdfDictionary {
  return first(pdf, (dictionary) => dictionary['/Subtype'] === '/Type0');
}

function twice(paragraph: PdfDictionary): void {
  const content = paragraph['/K'] as number[];
  paragraph['/K'] = [...content, content[0]!];
}

function nestArtifact(content: string): string {
  return content.replace(/(\/P\s*<<[^>]*>>\s*BDC)/, '$1\n/Artifact BMC EMC');
}

withTool('qpdf', 'the checker of PDF structure finds a planted fault', () => {
  let sound: PdfObjects;

  beforeAll(async () => {
    sound = PdfObjects.read(await renderTwice(SAMPLE_IDENTITY, drawSample));
  });

  it('and nothing in the sound file', () => {
    expect(checkPdf(sound)).toEqual([]);
  });

  it.each([
    ['of Latin letters', 'x2110', 'u:Ê'],
    ['of other signs too', 'x436', "u:7'0\b.aH:šoc"],
  ])('nor in one with a checksum that happens to be text, %s', async (_, text, checksum) => {
    const pdf = PdfObjects.read(
      await renderTwice(SAMPLE_IDENTITY, (page) => {
        drawSample(page);
        const words = { mediaType: 'text/plain', relationship: 'Data', description: 'Invented' } as const;
        page.attach({ name: 'text.txt', bytes: Buffer.from(text), ...words });
      }),
    );
    const isText = (dictionary: PdfDictionary) =>
      String(pdf.dictionary(dictionary['/Params'])['/CheckSum']).startsWith(checksum);
    expect(first(pdf, isText)).toMatchObject({ '/Type': '/EmbeddedFile' });
    expect(checkPdf(pdf)).toEqual([]);
  });

  it.each(FAULTS)('%s', (_, plant, finding) => {
    const pdf = sound.copy();
    plant(pdf);
    expect(checkPdf(pdf)).toContainEqual(expect.stringMatching(finding));
  });
});
