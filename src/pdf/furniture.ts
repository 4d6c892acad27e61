import { type RecordIdentity, shortDigest } from './identity.js';
import { PAGE, type Sheet } from './sheet.js';
import { HAIRLINE, MUTED } from './style.js';
import { breakLines, type Fragment, type TextSetting } from './text-layout.js';

const SETTING: TextSetting = { face: 'regular', sizePt: 8 };
const HEADER_Y = 44;
const FOOTER_Y = PAGE.height - 32;

/** Header, footer and draft mark: artifacts, since they belong to the page and not to the text. */
export function drawFurniture(sheet: Sheet, identity: RecordIdentity, page: number, pages: number): void {
  const { words } = identity;
  if (identity.state === 'draft') sheet.artifact('watermark', () => sheet.watermark(words.draftMark));
  sheet.artifact('header', () => {
    const right = fitted(`SHA-256 ${shortDigest(identity.digest)}…`, 150);
    const left = fitted(words.head(identity.number, identity.revision, identity.state), 320);
    sheet.text(left, PAGE.left, HEADER_Y, SETTING.sizePt, MUTED);
    sheet.text(right, PAGE.right - right.width, HEADER_Y, SETTING.sizePt, MUTED);
    sheet.line(PAGE.left, HEADER_Y + 6, PAGE.right, HEADER_Y + 6, HAIRLINE, 0.5);
  });
  sheet.artifact('footer', () => {
    const right = fitted(words.page(page, pages), 110);
    const left = fitted(identity.title, 360);
    sheet.line(PAGE.left, FOOTER_Y - 12, PAGE.right, FOOTER_Y - 12, HAIRLINE, 0.5);
    sheet.text(left, PAGE.left, FOOTER_Y, SETTING.sizePt, MUTED);
    sheet.text(right, PAGE.right - right.width, FOOTER_Y, SETTING.sizePt, MUTED);
  });
}

/** The text on one line. A longer one ends in an ellipsis: it stands in full on page 1 and in the metadata. */
function fitted(text: string, widthPt: number): Fragment {
  const [first, ...others] = breakLines(text, SETTING, widthPt);
  if (others.length === 0) return first!.fragments[0] ?? { text: '', face: SETTING.face, width: 0, to: undefined };
  const shorter = breakLines(text, SETTING, widthPt - SETTING.sizePt)[0]!.fragments[0]!;
  return { ...shorter, text: `${shorter.text}…` };
}
