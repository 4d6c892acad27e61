import { createHash } from 'node:crypto';
import { checkAccess } from './pdf-check-access.js';
import { checkPageContent, type ShownGlyphs, type TaggedContent } from './pdf-check-content.js';
import { checkStructure } from './pdf-check-structure.js';
import { checkWidths } from './pdf-check-widths.js';
import type { PdfDictionary, PdfObjects, PdfValue } from './pdf-objects.js';

/**
 * The rules of PDF/A-3 (ISO 19005-3), of PDF/UA-1 (ISO 14289-1) and of tagged PDF (ISO 32000-1, 14.7 and 14.8) that this project's writer is most
 * at risk of breaking, checked on the objects as qpdf reads them. Clause numbers are from memory. It is no full
 * validator, and it was written beside the writer: `qpdf --check` and poppler see the same files with other eyes.
 * Returns what is wrong, each sentence once; empty for a file without findings.
 */
export function checkPdf(pdf: PdfObjects): string[] {
  const found: string[] = [
    ...checkTrailer(pdf),
    ...checkCatalogue(pdf),
    ...checkMetadata(pdf),
    ...checkOutputIntent(pdf),
    ...checkOutline(pdf),
  ];
  for (const entry of pdf.dictionaries()) found.push(...checkObject(pdf, entry.dictionary, entry.reference));
  const content: TaggedContent = new Map();
  const shown: ShownGlyphs = new Map();
  pdf.pages().forEach((page, index) => {
    found.push(...checkPageContent(pdf, page, index + 1, content, shown));
  });
  found.push(...checkStructure(pdf, content), ...checkAccess(pdf), ...checkWidths(pdf, shown));
  return [...new Set(found)];
}

function checkTrailer(pdf: PdfObjects): string[] {
  const found: string[] = [];
  if (pdf.array(pdf.trailer['/ID']).length !== 2) found.push('the trailer has no file identifier');
  if (pdf.trailer['/Encrypt']) found.push('the file is encrypted');
  return found;
}

function checkCatalogue(pdf: PdfObjects): string[] {
  const { catalogue } = pdf;
  const found: string[] = [];
  if (pdf.dictionary(catalogue['/MarkInfo'])['/Marked'] !== true) found.push('the file does not say that it is tagged');
  if (!pdf.text(catalogue['/Lang'])) found.push('the language of the text is not given');
  if (pdf.dictionary(catalogue['/ViewerPreferences'])['/DisplayDocTitle'] !== true) {
    found.push('readers are not told to show the title');
  }
  if (!catalogue['/PageLabels']) found.push('pages have no labels');
  for (const key of ['/OpenAction', '/AA']) if (catalogue[key]) found.push(`the catalogue has ${key}`);
  return found;
}

function checkMetadata(pdf: PdfObjects): string[] {
  const reference = pdf.catalogue['/Metadata'];
  const xml = pdf.bytes(reference).toString('utf8');
  if (xml === '') return ['there is no metadata packet'];
  const found: string[] = [];
  if (pdf.dictionary(reference)['/Filter']) found.push('the metadata packet is compressed');
  if (!xml.includes('<pdfaid:part>3<') || !xml.includes('<pdfaid:conformance>A<')) {
    found.push('the metadata do not say PDF/A-3a');
  }
  const information = pdf.dictionary(pdf.trailer['/Info']);
  for (const [key, pattern] of INFORMATION_IN_XMP) {
    const packed = unescapeXml(pattern.exec(xml)?.[1]);
    if (pdf.text(information[key]) !== packed) found.push(`${key} differs between information and metadata`);
  }
  return found;
}

const INFORMATION_IN_XMP: readonly (readonly [string, RegExp])[] = [
  ['/Title', /<dc:title>.*?<rdf:li[^>]*>(.*?)<\/rdf:li>/s],
  ['/Author', /<dc:creator>.*?<rdf:li>(.*?)<\/rdf:li>/s],
  ['/Subject', /<dc:description>.*?<rdf:li[^>]*>(.*?)<\/rdf:li>/s],
  ['/Keywords', /<pdf:Keywords>(.*?)<\/pdf:Keywords>/s],
  ['/Producer', /<pdf:Producer>(.*?)<\/pdf:Producer>/s],
  ['/Creator', /<xmp:CreatorTool>(.*?)<\/xmp:CreatorTool>/s],
];

function unescapeXml(text: string | undefined): string | undefined {
  return text
    ?.replaceAll('&lt;', '<')
    .replaceAll('&gt;', '>')
    .replaceAll('&quot;', '"')
    .replaceAll('&apos;', "'")
    .replaceAll('&amp;', '&');
}

function checkOutputIntent(pdf: PdfObjects): string[] {
  const intents = pdf.array(pdf.catalogue['/OutputIntents']);
  if (intents.length !== 1) return ['there is not exactly one output intent'];
  const intent = pdf.dictionary(intents[0]);
  const profile = intent['/DestOutputProfile'];
  // ICC.1: the signature "acsp" stands at byte 36 of every profile.
  const isProfile = pdf.bytes(profile).subarray(36, 40).toString('latin1') === 'acsp';
  if (intent['/S'] !== '/GTS_PDFA1' || pdf.dictionary(profile)['/N'] !== 3 || !isProfile) {
    return ['the output intent is no RGB profile for PDF/A'];
  }
  return [];
}

function checkOutline(pdf: PdfObjects): string[] {
  const unfinished = (item: PdfDictionary): boolean => {
    if (!item['/First']) return false;
    if (typeof item['/Count'] !== 'number') return true;
    let child: PdfValue | undefined = item['/First'];
    while (child) {
      const below = pdf.dictionary(child);
      if (unfinished(below)) return true;
      child = below['/Next'];
    }
    return false;
  };
  const root = pdf.dictionary(pdf.catalogue['/Outlines']);
  return unfinished(root) ? ['a bookmark with others below it has no count'] : [];
}

function checkObject(pdf: PdfObjects, dictionary: PdfDictionary, reference: string): string[] {
  switch (dictionary['/Type']) {
    case '/Filespec':
      return checkAttachment(pdf, dictionary, reference);
    case '/Font':
      return checkFont(pdf, dictionary);
    case '/Annot':
      return checkAnnotation(dictionary);
    default:
      return checkAction(dictionary);
  }
}

const FORBIDDEN_ACTIONS: ReadonlySet<string> = new Set([
  '/JavaScript',
  '/Launch',
  '/Movie',
  '/Sound',
  '/ResetForm',
  '/ImportData',
]);

function checkAction(dictionary: PdfDictionary): string[] {
  const kind = String(dictionary['/S']);
  return FORBIDDEN_ACTIONS.has(kind) ? [`there is an action ${kind}`] : [];
}

function checkAttachment(pdf: PdfObjects, specification: PdfDictionary, reference: string): string[] {
  const name = pdf.text(specification['/UF']) ?? '(without name)';
  const found: string[] = [];
  for (const key of ['/F', '/UF', '/Desc', '/AFRelationship', '/EF']) {
    if (!specification[key]) found.push(`attachment ${name} lacks ${key}`);
  }
  if (!pdf.array(pdf.catalogue['/AF']).includes(reference)) found.push(`attachment ${name} is not listed under /AF`);
  const stream = pdf.dictionary(specification['/EF'])['/F'];
  const bytes = pdf.bytes(stream);
  const parameters = pdf.dictionary(pdf.dictionary(stream)['/Params']);
  if (!pdf.dictionary(stream)['/Subtype']) found.push(`attachment ${name} has no media type`);
  if (!parameters['/ModDate']) found.push(`attachment ${name} has no date`);
  if (parameters['/Size'] !== bytes.length) found.push(`attachment ${name} has a wrong size`);
  if (!pdf.stringBytes(parameters['/CheckSum']).equals(createHash('md5').update(bytes).digest())) {
    found.push(`attachment ${name} has no MD5 of 16 bytes that fits`);
  }
  return found;
}

function checkFont(pdf: PdfObjects, font: PdfDictionary): string[] {
  const name = font['/BaseFont'];
  if (font['/Subtype'] !== '/Type0') {
    return String(font['/Subtype']).startsWith('/CIDFont') ? [] : [`font ${name} is not embedded as a subset`];
  }
  const descendant = pdf.dictionary(pdf.array(font['/DescendantFonts'])[0]);
  const descriptor = pdf.dictionary(descendant['/FontDescriptor']);
  const found: string[] = [];
  if (!descriptor['/FontFile2'] && !descriptor['/FontFile3']) found.push(`font ${name} is not embedded`);
  if (!descendant['/CIDToGIDMap']) found.push(`font ${name} does not map its characters to glyphs`);
  if (pdf.bytes(font['/ToUnicode']).length === 0) found.push(`font ${name} does not map its glyphs to Unicode`);
  return found;
}

/** Annotation flags of ISO 32000-1, table 165: printed, and neither invisible nor hidden nor kept off the screen. */
const PRINT = 4;
const UNSEEN = 1 | 2 | 32;

function checkAnnotation(annotation: PdfDictionary): string[] {
  const flags = typeof annotation['/F'] === 'number' ? annotation['/F'] : 0;
  const found: string[] = [];
  if (!(flags & PRINT) || flags & UNSEEN) found.push('an annotation is not both seen and printed');
  if (annotation['/Subtype'] === '/Link' && !annotation['/Contents']) found.push('a link does not say where it leads');
  if (typeof annotation['/StructParent'] !== 'number') found.push('an annotation is not in the structure');
  return found;
}
