import type { Scene, TextMark } from '../base/scene.js';
import { embedFile, sortByBytes } from './attachments.js';
import { components, drawScene, filledRect, number, numbers, strokedLine } from './content-operators.js';
import { faceSize, type LoadedFont } from './fonts.js';
import { PAGE_MARK, type RecordIdentity } from './identity.js';
import { fileIdOf, informationOf, metadataXml } from './metadata.js';
import {
  createDocument,
  type EmbeddedFont,
  type OutlineItem,
  type PdfkitDocument,
  pdfString,
  type StructureElement,
} from './pdfkit-internals.js';
import { drawableText, type Run, shape, widthOf } from './shaping.js';
import { type ArtifactKind, type Attachment, type Box, PAGE, type Sheet, type Tag, type TagOptions } from './sheet.js';
import type { Fragment } from './text-layout.js';
import { oneLine } from './visible-text.js';
import { watermarkOperators } from './watermark.js';
import { WrittenBytes } from './written-bytes.js';

const LANGUAGE = 'en-GB';

const ARTIFACTS: Readonly<Record<ArtifactKind, string>> = {
  layout: '<</Type /Layout>>',
  repeated: '<</Type /Pagination>>',
  header: '<</Type /Pagination /Subtype /Header /Attached [/Top]>>',
  footer: '<</Type /Pagination /Subtype /Footer /Attached [/Bottom]>>',
  watermark: '<</Type /Pagination /Subtype /Watermark>>',
};

/**
 * Writes a tagged PDF made to the rules of PDF/A-3, level a (ISO 19005-3), and of PDF/UA-1 (ISO 14289-1): own metadata,
 * output intent, embedded fonts, structure tree, bookmarks. It is checked by our own tests and not certified by anybody.
 */
export class PdfSheet implements Sheet {
  private readonly document: PdfkitDocument;
  private readonly written = new WrittenBytes();
  private readonly fonts = new Map<string, EmbeddedFont>();
  private readonly openElements: StructureElement[] = [];
  /** Last bookmark of each level. */
  private readonly bookmarks: OutlineItem[] = [];
  private readonly destinations = new Map<string, string>();

  constructor(private readonly identity: RecordIdentity) {
    this.document = createDocument({
      size: [PAGE.width, PAGE.height],
      margin: 0,
      autoFirstPage: false,
      pdfVersion: '1.7',
      subset: 'PDF/A-3a',
      tagged: true,
      lang: LANGUAGE,
      displayTitle: true,
      font: null,
      info: informationOf(identity),
    });
    this.document._id = fileIdOf(identity);
    this.document._addInfo = () => this.document.appendXML(metadataXml(identity, LANGUAGE), true);
    this.document._root.data.PageLabels = { Nums: [0, { S: 'D' }] };
    // The constructor has put the file's head into the stream; from here on pieces come to us without waiting there.
    const head = this.document.read() as Uint8Array | null;
    if (head) this.written.add(head);
    this.document.push = (chunk) => {
      if (chunk) this.written.add(chunk);
      return true;
    };
    const root = this.document.struct('Document', { lang: LANGUAGE });
    this.document.addStructure(root as never);
    this.openElements.push(root);
  }

  /** ISO 32000-1, 14.5: what a program says of a page for itself, and since when. */
  addPage({ page, of }: { page: number; of: number }): void {
    this.document.addPage();
    const at = this.identity.printedAt;
    Object.assign(this.document.page.dictionary.data, {
      LastModified: at,
      PieceInfo: { [PAGE_MARK]: { LastModified: at, Private: { Page: page, Of: of } } },
    });
  }

  open(tag: Tag, options: TagOptions = {}): void {
    const { box, ...rest } = options;
    const bbox = box && [box.x, box.y, box.x + box.w, box.y + box.h];
    const element = this.document.struct(tag, bbox ? { ...rest, bbox, placement: 'Block' } : rest);
    this.openElements.at(-1)!.add(element);
    this.openElements.push(element);
  }

  close(): void {
    this.openElements.pop()!.end();
  }

  content(draw: () => void): void {
    this.openElements.at(-1)!.add(draw);
  }

  /** pdfkit's own marking leaves out the subtype. */
  artifact(kind: ArtifactKind, draw: () => void): void {
    this.add(`/Artifact ${ARTIFACTS[kind]} BDC`);
    draw();
    this.add('EMC');
  }

  text(fragment: Fragment, x: number, y: number, sizePt: number, colour: string): void {
    const size = faceSize(fragment.face, sizePt);
    this.putRuns(shape(fragment.text, fragment.face), `1 0 0 -1 ${numbers(x, y)}`, size, colour);
  }

  rect(box: Box, fill: string): void {
    this.add(filledRect(box, fill));
  }

  line(x1: number, y1: number, x2: number, y2: number, colour: string, widthPt: number): void {
    this.add(strokedLine({ x1, y1, x2, y2 }, colour, widthPt));
  }

  watermark(word: string): void {
    this.add(watermarkOperators(word));
  }

  scene(scene: Scene, box: Box): void {
    drawScene(
      scene,
      box,
      (operators) => this.add(operators),
      (mark) => this.putSceneText(mark),
    );
  }

  link(box: Box, anchor: string, alt: string): void {
    const structParent = this.openElements.at(-1)!;
    this.document.goTo(box.x, box.y, box.w, box.h, this.destinationName(anchor), {
      structParent,
      Contents: pdfString(alt),
    });
  }

  destination(anchor: string, y: number): void {
    this.document.addNamedDestination(this.destinationName(anchor), 'XYZ', null, y, null);
  }

  bookmark(level: number, title: string, y: number): void {
    const parent = this.bookmarks.slice(0, level - 1).findLast((item) => item !== undefined);
    const item = (parent ?? this.document.outline).addItem(oneLine(title), { expanded: false });
    // pdfkit's own target counts from the right edge of the page.
    item.outlineData.Dest = [this.document.page.dictionary, 'XYZ', 0, PAGE.height - Math.max(0, y - 6), null];
    this.bookmarks.length = level - 1;
    this.bookmarks[level - 1] = item;
  }

  attach(file: Attachment): void {
    embedFile(this.document, file, this.identity.printedAt);
  }

  /** Ends the document. Nothing can be drawn afterwards. */
  finish(): Buffer {
    while (this.openElements.length > 0) this.close();
    countBookmarks(this.document.outline);
    sortByBytes(this.document._root.data.Names?.data.Dests);
    this.document.end();
    return this.written.all();
  }

  private add(operators: string): void {
    this.document.addContent(operators);
  }

  /** Short names in ASCII, whatever an anchor is called. */
  private destinationName(anchor: string): string {
    let name = this.destinations.get(anchor);
    if (name === undefined) {
      name = `d${String(this.destinations.size + 1).padStart(6, '0')}`;
      this.destinations.set(anchor, name);
    }
    return name;
  }

  private putSceneText(mark: TextMark): void {
    const face = mark.bold ? 'bold' : 'regular';
    const text = drawableText(oneLine(mark.text), face);
    const width = mark.anchor === 'start' ? 0 : widthOf(text, face, mark.size);
    const back = mark.anchor === 'middle' ? width / 2 : width;
    const matrix = mark.turned
      ? `0 -1 -1 0 ${numbers(mark.x, mark.y + back)}`
      : `1 0 0 -1 ${numbers(mark.x - back, mark.y)}`;
    this.putRuns(shape(text, face), matrix, mark.size, mark.fill);
  }

  private putRuns(runs: readonly Run[], matrix: string, sizePt: number, colour: string): void {
    const shown = runs.map((run) => this.showRun(run, sizePt)).join(' ');
    if (shown !== '') this.add(`${components(colour)} rg BT ${matrix} Tm ${shown} ET`);
  }

  /** Each glyph with its distance to the next; marks that stand off the line are raised on their own. */
  private showRun({ font, glyphs }: Run, sizePt: number): string {
    const embedded = this.embed(font);
    const parts: string[] = [`/${embedded.id} ${number(sizePt)} Tf`];
    let array = '';
    let pending = '';
    const flush = () => {
      if (pending !== '') array += `<${pending}>`;
      pending = '';
    };
    const show = () => {
      flush();
      if (array !== '') parts.push(`[${array}] TJ`);
      array = '';
    };
    for (const glyph of glyphs) {
      const code = embeddedCode(embedded, glyph);
      if (glyph.yOffset !== 0) {
        show();
        parts.push(`${number((glyph.yOffset / 1000) * sizePt)} Ts`);
      }
      if (glyph.xOffset !== 0) {
        flush();
        array += number(-glyph.xOffset);
      }
      pending += code;
      const correction = glyph.width + glyph.xOffset - glyph.advance;
      if (Math.abs(correction) > 0.005) {
        flush();
        array += number(correction);
      }
      if (glyph.yOffset !== 0) {
        show();
        parts.push('0 Ts');
      }
    }
    show();
    return parts.join(' ');
  }

  /** The file's path is the key: under any other key pdfkit parses the font again at every change of font. */
  private embed(font: LoadedFont): EmbeddedFont {
    let embedded = this.fonts.get(font.file);
    if (!embedded) {
      this.document.font(font.font, font.file);
      embedded = this.document._font;
      this.fonts.set(font.file, embedded);
    }
    this.document.page.fonts[embedded.id] ??= embedded.ref();
    return embedded;
  }
}

const codes: string[] = [];

/** Four digits. A font of a record has some hundred glyphs, and each is written thousands of times. */
function hexadecimal(code: number): string {
  codes[code] ??= code.toString(16).padStart(4, '0');
  return codes[code];
}

function embeddedCode(font: EmbeddedFont, glyph: Run['glyphs'][number]): string {
  const code = font.subset.includeGlyph(glyph.id);
  font.widths[code] ??= glyph.width;
  font.unicode[code] ??= glyph.codePoints;
  return hexadecimal(code);
}

/** All bookmarks below the first level start folded, which a negative count says; pdfkit leaves the counts out. */
function countBookmarks(root: OutlineItem): void {
  if (root.children.length > 0) root.outlineData.Count = root.children.length;
  for (const item of root.children) countFolded(item);
}

function countFolded(item: OutlineItem): void {
  if (item.children.length > 0) item.outlineData.Count = -item.children.length;
  for (const child of item.children) countFolded(child);
}
