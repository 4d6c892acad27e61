import type { TaggedContent } from './pdf-check-content.js';
import { isDictionary, isReference, type PdfDictionary, type PdfObjects, type PdfValue } from './pdf-objects.js';

/** Which elements may stand in which (ISO 32000-1, 14.8.4.3); an element that is not named here may hold any. */
const CHILDREN: Readonly<Record<string, readonly string[]>> = {
  Table: ['Caption', 'THead', 'TBody', 'TFoot', 'TR'],
  THead: ['TR'],
  TBody: ['TR'],
  TR: ['TH', 'TD'],
  TOC: ['TOCI', 'TOC', 'Caption'],
  TOCI: ['Lbl', 'Reference', 'NonStruct', 'P', 'TOC'],
  L: ['LI', 'Caption'],
  LI: ['Lbl', 'LBody'],
};
const PARENTS: Readonly<Record<string, readonly string[]>> = {
  TR: ['Table', 'THead', 'TBody', 'TFoot'],
  TH: ['TR'],
  TD: ['TR'],
  TOCI: ['TOC'],
  LI: ['L'],
  LBody: ['LI'],
};
const KNOWN = new Set(
  'Document Part Sect Div Caption TOC TOCI H1 H2 H3 P L LI Lbl LBody Table THead TBody TR TH TD Span Link Reference Figure Form'.split(
    ' ',
  ),
);
/** An empty one of these would be a hole in the text. */
const NEVER_EMPTY = new Set(['L', 'LI', 'Table', 'THead', 'TBody', 'TR', 'TOC', 'Figure', 'H1', 'H2', 'H3', 'Sect']);

interface Walk {
  readonly pdf: PdfObjects;
  readonly content: TaggedContent;
  readonly owners: ReadonlyMap<number, PdfValue>;
  /** Content and the element that holds it. */
  readonly held: Map<string, string>;
  readonly headings: number[];
  readonly found: string[];
}

/** The structure tree, its elements, and that tree, pages and parent tree tell the same. */
export function checkStructure(pdf: PdfObjects, content: TaggedContent): string[] {
  const root = pdf.catalogue['/StructTreeRoot'];
  if (!root) return ['there is no structure tree'];
  const walk: Walk = {
    pdf,
    content,
    owners: parentTree(pdf, pdf.dictionary(root)['/ParentTree']),
    held: new Map(),
    headings: [],
    found: [],
  };
  for (const child of pdf.array(pdf.dictionary(root)['/K'])) visit(walk, String(child), String(root), 'root');
  checkHeadings(walk);
  for (const key of content.keys()) {
    if (!walk.held.has(key)) walk.found.push('content of a page belongs to no element');
  }
  checkOwners(walk);
  return walk.found;
}

function parentTree(pdf: PdfObjects, node: PdfValue | undefined): Map<number, PdfValue> {
  const numbers = pdf.array(pdf.dictionary(node)['/Nums']);
  const owners = new Map<number, PdfValue>();
  for (let index = 0; index + 1 < numbers.length; index += 2) {
    owners.set(Number(numbers[index]), numbers[index + 1]!);
  }
  return owners;
}

function visit(walk: Walk, reference: string, parent: string, parentType: string): void {
  const { pdf, found } = walk;
  const element = pdf.dictionary(reference);
  const type = String(element['/S']).slice(1);
  if (!KNOWN.has(type)) found.push(`there is an element of the unknown type ${type}`);
  if (element['/P'] !== parent) found.push(`an element ${type} names the wrong parent`);
  if (CHILDREN[parentType] && !CHILDREN[parentType].includes(type)) found.push(`${type} stands in ${parentType}`);
  if (PARENTS[type] && !PARENTS[type].includes(parentType)) found.push(`${type} stands in ${parentType}`);
  if (/^H\d$/.test(type)) walk.headings.push(Number(type[1]));
  checkAttributes(walk, element, type);

  const children = pdf.array(element['/K']);
  if (children.length === 0 && NEVER_EMPTY.has(type)) found.push(`an element ${type} is empty`);
  let annotations = 0;
  for (const child of children) {
    if (isReference(child)) visit(walk, child, reference, type);
    else if (isDictionary(child) && child['/Type'] === '/OBJR') {
      annotations++;
      checkAnnotationReference(walk, child, reference);
    } else hold(walk, child, element, reference);
  }
  if (type === 'Link' && annotations === 0) found.push('an element Link leads nowhere');
  if (type === 'Form' && annotations !== 1) found.push('an element Form is not that of one field');
}

function checkAttributes({ pdf, found }: Walk, element: PdfDictionary, type: string): void {
  const attributes = pdf.dictionary(element['/A']);
  if (type === 'Figure' && !pdf.text(element['/Alt'])) found.push('a figure has no alternative text');
  if (type === 'Figure' && !attributes['/BBox']) found.push('a figure does not say where it stands');
  if (type === 'TH' && !attributes['/Scope']) found.push('a head of a table does not say what it speaks for');
  if (type === 'Link' && !pdf.text(element['/Alt'])) found.push('an element Link has no alternative text');
}

function checkAnnotationReference({ pdf, owners, found }: Walk, entry: PdfDictionary, element: string): void {
  const annotation = pdf.dictionary(entry['/Obj']);
  if (owners.get(Number(annotation['/StructParent'])) !== element) found.push('the parent tree has a link elsewhere');
  const page = pdf.dictionary(entry['/Pg']);
  if (!pdf.array(page['/Annots']).includes(entry['/Obj'] ?? null)) found.push('a link is on another page than it says');
}

function hold({ content, held, found }: Walk, child: PdfValue, element: PdfDictionary, reference: string): void {
  const page = isDictionary(child) ? child['/Pg'] : element['/Pg'];
  const number = isDictionary(child) ? child['/MCID'] : child;
  const key = `${page}#${number}`;
  if (!content.has(key)) found.push('an element names content that is on no page');
  if (held.has(key)) found.push('two elements hold the same content');
  held.set(key, reference);
}

function checkHeadings({ headings, found }: Walk): void {
  headings.forEach((level, index) => {
    const before = headings[index - 1] ?? 0;
    if (level > before + 1) found.push(`a heading of level ${level} follows one of level ${before}`);
  });
}

/** The parent tree lists for every page the owners of its content. */
function checkOwners({ pdf, content, owners, held, found }: Walk): void {
  for (const [key, { page, number }] of content) {
    const list = owners.get(Number(pdf.dictionary(page)['/StructParents']));
    if (pdf.array(list)[number] !== held.get(key)) found.push('the parent tree disagrees with the structure tree');
  }
}
