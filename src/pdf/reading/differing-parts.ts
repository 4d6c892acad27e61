import { isReference, type PdfDictionary, PdfObjects, type PdfValue } from './pdf-objects.js';

/**
 * In which parts two states of one PDF differ, in words that a reader knows: `page 3`, `attachment results.csv`. Both
 * come from the same renderer, so that one object has one number in both. Empty when they show and carry the same.
 * @throws AppError ALTERED when one of them is no whole PDF.
 */
export async function differingParts(before: Uint8Array, after: Uint8Array): Promise<string[]> {
  const [first, second] = [await PdfObjects.read(before), await PdfObjects.read(after)];
  const [names, laterNames] = [partNames(first), partNames(second)];
  const found = new Set<string>();
  for (const reference of new Set([...first.references(), ...second.references()])) {
    if (first.textOf(reference) === second.textOf(reference)) continue;
    found.add(names.get(reference) ?? laterNames.get(reference) ?? 'objects that belong to no page');
  }
  return [...found].sort((a, b) => a.localeCompare(b, 'en', { numeric: true }));
}

/** What each object belongs to; the first part that names it keeps it. */
function partNames(pdf: PdfObjects): Map<string, string> {
  const names = new Map<string, string>();
  const name = (value: PdfValue | undefined, part: string) => {
    if (isReference(value) && !names.has(value)) names.set(value, part);
  };
  name(pdf.trailer['/Root'], 'the catalogue');
  for (const item of [pdf.trailer['/Info'], ...Object.values(pdf.dictionary(pdf.trailer['/Info']))]) {
    name(item, 'the properties');
  }
  name(pdf.catalogue['/Metadata'], 'the metadata');
  name(pdf.catalogue['/StructTreeRoot'], 'the structure');
  name(pdf.catalogue['/AcroForm'], 'the form');
  pdf.pages().forEach((page, index) => {
    for (const item of ofPage(pdf, page)) name(item, `page ${index + 1}`);
  });
  for (const { reference, dictionary } of pdf.dictionaries()) {
    if (dictionary['/Type'] === '/Filespec') {
      const part = `attachment ${pdf.text(dictionary['/UF'])}`;
      name(reference, part);
      name(pdf.dictionary(dictionary['/EF'])['/F'], part);
    } else {
      name(reference, kindOf(dictionary));
    }
  }
  return names;
}

function ofPage(pdf: PdfObjects, page: string): (PdfValue | undefined)[] {
  const { '/Contents': contents, '/Resources': resources, '/Annots': annotations } = pdf.dictionary(page);
  return [page, contents, ...pdf.array(contents), resources, ...pdf.array(annotations)];
}

function kindOf(dictionary: PdfDictionary): string {
  const type = String(dictionary['/Type'] ?? '');
  if (type.startsWith('/Font')) return 'the fonts';
  if (type === '/Sig') return 'a signature';
  if ('/FT' in dictionary) return 'the form';
  if ('/S' in dictionary && '/P' in dictionary) return 'the structure';
  if ('/Title' in dictionary && '/Parent' in dictionary) return 'the bookmarks';
  return 'objects that belong to no page';
}
