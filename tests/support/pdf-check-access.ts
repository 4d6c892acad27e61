import { isDictionary, isReference, type PdfDictionary, type PdfObjects, type PdfValue } from './pdf-objects.js';

/**
 * What PDF/UA-1 (ISO 14289-1) asks beyond PDF/A-3a, as far as a program can tell. Numbers are those of the failure
 * conditions of the Matterhorn Protocol 1.02 of the PDF Association, from memory; docs/validation.md says where each of
 * its checkpoints is looked at. Whether words say what a picture shows, and whether text is read in a sensible order,
 * people have to judge.
 */
export function checkAccess(pdf: PdfObjects): string[] {
  const found: string[] = [];
  const { catalogue } = pdf;
  const xml = pdf.bytes(catalogue['/Metadata']).toString('utf8');
  if (!/<pdfuaid:part>1</.test(xml)) found.push('06-002 the metadata do not say PDF/UA-1');
  if (!/<pdfaSchema:prefix>pdfuaid</.test(xml)) found.push('the metadata do not describe the mark of PDF/UA for PDF/A');
  if (!/<dc:title>.*?<rdf:li[^>]*>[^<]+</s.test(xml)) found.push('06-003 the metadata have no title');
  if (pdf.dictionary(catalogue['/MarkInfo'])['/Suspects'] === true)
    found.push('01-006 the tags are said to be suspect');
  const root = pdf.dictionary(catalogue['/StructTreeRoot']);
  if (root['/RoleMap']) found.push('02-001 types of elements are mapped, and nothing here checks that');
  if (pdf.array(root['/K']).length !== 1) found.push('the structure tree has not one root');
  if (pdf.dictionary(catalogue['/AcroForm'])['/XFA']) found.push('25-001 the form is one of another format');
  for (const value of pdf.array(pdf.dictionary(catalogue['/OCProperties'])['/OCGs'])) {
    if (!pdf.text(pdf.dictionary(value)['/Name'])) found.push('20-001 content that can be switched off has no name');
  }
  const elements = elementsOf(pdf);
  const holders = holdersOf(pdf, elements);
  for (const { dictionary, reference } of pdf.dictionaries()) {
    found.push(...checkObject(pdf, dictionary, holders.get(reference)));
  }
  const first = [...elements.values()].find(({ type }) => /^H\d$/.test(type));
  if (first !== undefined && first.type !== 'H1')
    found.push(`14-002 the first heading is one of level ${first.type[1]}`);
  for (const element of elements.values()) if (element.type === 'Table') found.push(...checkTable(pdf, element));
  return found;
}

interface Element {
  readonly type: string;
  readonly dictionary: PdfDictionary;
}

/** Elements by reference, in the order in which they are read, with the annotations that each names. */
function elementsOf(pdf: PdfObjects): ReadonlyMap<string, Element> {
  const found = new Map<string, Element>();
  const visit = (reference: PdfValue): void => {
    if (!isReference(reference) || found.has(reference)) return;
    const dictionary = pdf.dictionary(reference);
    found.set(reference, { type: String(dictionary['/S']).slice(1), dictionary });
    for (const child of pdf.array(dictionary['/K'])) visit(child);
  };
  for (const child of pdf.array(pdf.dictionary(pdf.catalogue['/StructTreeRoot'])['/K'])) visit(child);
  return found;
}

/** Type of the element that names an annotation, by the reference of the annotation. */
function holdersOf(pdf: PdfObjects, elements: ReadonlyMap<string, Element>): ReadonlyMap<string, string> {
  const found = new Map<string, string>();
  for (const { type, dictionary } of elements.values()) {
    for (const child of pdf.array(dictionary['/K'])) {
      if (isDictionary(child) && child['/Type'] === '/OBJR') found.set(String(child['/Obj']), type);
    }
  }
  return found;
}

function checkObject(pdf: PdfObjects, object: PdfDictionary, holder: string | undefined): string[] {
  if (object['/Type'] === '/Annot') return checkAnnotation(pdf, object, holder);
  if (object['/Type'] === '/Font' && object['/Subtype'] === '/Type0') return checkFont(pdf, object);
  if (object['/Subtype'] === '/Form' && object['/Ref']) return ['30-001 a drawing is that of another file'];
  return [];
}

/** Which element an annotation of a type belongs into. */
const HOLDER: Readonly<Record<string, { readonly type: string; readonly rule: string }>> = {
  '/Link': { type: 'Link', rule: '28-011' },
  '/Widget': { type: 'Form', rule: '28-010' },
};

/** @param holder type of the element that names it. */
function checkAnnotation(pdf: PdfObjects, annotation: PdfDictionary, holder: string | undefined): string[] {
  const kind = String(annotation['/Subtype']);
  if (kind === '/TrapNet') return ['28-007 there is a trap network'];
  const found: string[] = [];
  const { type, rule } = HOLDER[kind] ?? { type: 'Annot', rule: '28-002' };
  if (holder !== type) found.push(`${rule} an annotation ${kind} stands in ${holder ?? 'nothing'}`);
  if (kind === '/Widget' && !pdf.text(annotation['/TU'])) found.push('28-005 a field has no name to be read aloud');
  return found;
}

function checkFont(pdf: PdfObjects, font: PdfDictionary): string[] {
  const name = String(font['/BaseFont']);
  const found: string[] = [];
  const descendant = pdf.dictionary(pdf.array(font['/DescendantFonts'])[0]);
  const system = pdf.dictionary(descendant['/CIDSystemInfo']);
  if (font['/Encoding'] !== '/Identity-H') found.push(`31-008 font ${name} numbers its characters by another table`);
  if (!pdf.text(system['/Registry']) || !pdf.text(system['/Ordering'])) {
    found.push(`31-001 font ${name} does not say by which table its characters are numbered`);
  }
  if (descendant['/Subtype'] === '/CIDFontType2' && descendant['/CIDToGIDMap'] !== '/Identity') {
    found.push(`31-004 font ${name} does not map its characters to its glyphs`);
  }
  const unicode = pdf.bytes(font['/ToUnicode']).toString('latin1');
  // Targets of the mapping are the last strings of each line: those of no character are forbidden.
  if (
    /<(?:0000|feff|fffe)>\s*(?:$|[\]\r\n])/im.test(unicode.replace(/begincodespacerange[\s\S]*?endcodespacerange/g, ''))
  ) {
    found.push(`31-028 font ${name} maps a glyph to no character`);
  }
  return found;
}

/** 15-003, and rows of one length (ISO 14289-1, 7.5): so that a reader can tell which heads speak for a cell. */
function checkTable(pdf: PdfObjects, { dictionary }: Element): string[] {
  const lengths = new Set<number>();
  let heads = 0;
  const visit = (reference: PdfValue): void => {
    if (!isReference(reference)) return;
    const element = pdf.dictionary(reference);
    const cells = pdf.array(element['/K']).filter(isReference);
    if (element['/S'] !== '/TR') {
      cells.forEach(visit);
      return;
    }
    heads += cells.filter((cell) => pdf.dictionary(cell)['/S'] === '/TH').length;
    lengths.add(cells.reduce((sum, cell) => sum + Number(attribute(pdf, cell, '/ColSpan') ?? 1), 0));
  };
  for (const child of pdf.array(dictionary['/K'])) visit(child);
  const found: string[] = [];
  if (heads === 0) found.push('15-003 a table has no heads');
  if (lengths.size > 1) found.push('a table has rows of several lengths');
  return found;
}

const attribute = (pdf: PdfObjects, element: PdfValue, name: string): PdfValue | undefined =>
  pdf.dictionary(pdf.dictionary(element)['/A'])[name];
