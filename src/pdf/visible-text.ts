import { codeOf } from '../base/characters.js';

/** Blanks of other widths are drawn as an ordinary blank; whether a line may break there is decided before. */
const OTHER_BLANKS = /[\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000]/gu;

/** Characters that would be invisible or would act on others: controls, formats, surrogates, separators, unassigned. */
const INVISIBLE = /[\p{Cc}\p{Cf}\p{Cs}\p{Co}\p{Cn}\p{Zl}\p{Zp}]/gu;

const PLAIN = /^[\x20-\x7e]*$/;

/**
 * The text as it is put on paper: composed (NFC), line ends as `\n`, tabs as a blank, and every character that a reader
 * could not see written as its code, such as `[U+202E RLO]`, so that nothing hides and nothing turns its neighbours round.
 */
export function visibleText(text: string): string {
  if (PLAIN.test(text)) return text;
  return text
    .normalize('NFC')
    .replace(/\r\n?/g, '\n')
    .replace(/\t/g, ' ')
    .replace(INVISIBLE, (character) => (character === '\n' ? character : `[${codeOf(character)}]`));
}

/** The same for what is drawn on one line: every blank becomes the ordinary one. */
export function ordinaryBlanks(text: string): string {
  return PLAIN.test(text) ? text : text.replace(OTHER_BLANKS, ' ');
}

/** Visible text for a place that has one line only. */
export function oneLine(text: string): string {
  return visibleText(text).replaceAll('\n', ' ');
}
