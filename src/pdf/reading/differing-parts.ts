import { isReference, type PdfDictionary, PdfObjects, type PdfValue } from './pdf-objects.js';

/** A part of a PDF that a reader knows. A page has its number in `of`, an attachment its name. */
export interface DifferingPart {
  readonly part:
    | 'page'
    | 'attachment'
    | 'catalogue'
    | 'properties'
    | 'metadata'
    | 'structure'
    | 'form'
    | 'fonts'
    | 'signature'
    | 'bookmarks'
    | 'of no page';
  readonly of?: string;
}

/**
 * In which parts two states of one PDF differ. Both come from the same renderer, so that one object has one number in both. Empty when they show and carry the same.
 * @throws AppError ALTERED when one of them is no whole PDF.
 */
export async function differingParts(before: Uint8Array, after: Uint8Array): Promise<DifferingPart[]> {
  const [first, second] = [await PdfObjects.read(before), await PdfObjects.read(after)];
  const [parts, laterParts] = [partsOf(first), partsOf(second)];
  const found = new Map<string, DifferingPart>();
  for (const reference of new Set([...first.references(), ...second.references()])) {
    if (first.textOf(reference) === second.textOf(reference)) continue;
    const part = parts.get(reference) ?? laterParts.get(reference) ?? OF_NO_PAGE;
    found.set(`${part.part} ${part.of ?? ''}`, part);
  }
  return [...found.values()];
}

const OF_NO_PAGE: DifferingPart = { part: 'of no page' };

/** What each object belongs to; the first part that names it keeps it. */
function partsOf(pdf: PdfObjects): Map<string, DifferingPart> {
  const parts = new Map<string, DifferingPart>();
  const take = (value: PdfValue | undefined, part: DifferingPart['part'], of?: string) => {
    if (isReference(value) && !parts.has(value)) parts.set(value, of === undefined ? { part } : { part, of });
  };
  take(pdf.trailer['/Root'], 'catalogue');
  for (const item of [pdf.trailer['/Info'], ...Object.values(pdf.dictionary(pdf.trailer['/Info']))]) {
    take(item, 'properties');
  }
  take(pdf.catalogue['/Metadata'], 'metadata');
  take(pdf.catalogue['/StructTreeRoot'], 'structure');
  take(pdf.catalogue['/AcroForm'], 'form');
  pdf.pages().forEach((page, index) => {
    for (const item of ofPage(pdf, page)) take(item, 'page', String(index + 1));
  });
  for (const { reference, dictionary } of pdf.dictionaries()) {
    if (dictionary['/Type'] === '/Filespec') {
      const name = pdf.text(dictionary['/UF']);
      take(reference, 'attachment', name);
      take(pdf.dictionary(dictionary['/EF'])['/F'], 'attachment', name);
    } else {
      take(reference, kindOf(dictionary));
    }
  }
  return parts;
}

function ofPage(pdf: PdfObjects, page: string): (PdfValue | undefined)[] {
  const { '/Contents': contents, '/Resources': resources, '/Annots': annotations } = pdf.dictionary(page);
  return [page, contents, ...pdf.array(contents), resources, ...pdf.array(annotations)];
}

function kindOf(dictionary: PdfDictionary): DifferingPart['part'] {
  const type = String(dictionary['/Type'] ?? '');
  if (type.startsWith('/Font')) return 'fonts';
  if (type === '/Sig') return 'signature';
  if ('/FT' in dictionary) return 'form';
  if ('/S' in dictionary && '/P' in dictionary) return 'structure';
  if ('/Title' in dictionary && '/Parent' in dictionary) return 'bookmarks';
  return 'of no page';
}
