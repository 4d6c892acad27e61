/**
 * Characters that turn the order of those beside them (Unicode, property Bidi_Control), with the short names that UAX #9
 * has for them. `file[RLO]gnp.exe` reads as `fileexe.png`.
 */
const BIDI_CONTROLS: ReadonlyMap<string, string> = new Map([
  ['\u061c', 'ALM'],
  ['\u200e', 'LRM'],
  ['\u200f', 'RLM'],
  ['\u202a', 'LRE'],
  ['\u202b', 'RLE'],
  ['\u202c', 'PDF'],
  ['\u202d', 'LRO'],
  ['\u202e', 'RLO'],
  ['\u2066', 'LRI'],
  ['\u2067', 'RLI'],
  ['\u2068', 'FSI'],
  ['\u2069', 'PDI'],
]);

const TURNING = [...BIDI_CONTROLS.keys()].join('');
/** What acts on a terminal, on the line or on its neighbours; line ends and tabs may stand. */
const ACTING = new RegExp(`[\\p{Zl}\\p{Zp}${TURNING}]|(?![\\r\\n\\t])\\p{Cc}|\\r(?!\\n)`, 'gu');

/** Code of a character, and of one that turns others its name: `U+20AC`, `U+202E RLO`. */
export function codeOf(character: string): string {
  const name = BIDI_CONTROLS.get(character);
  const code = `U+${character.codePointAt(0)!.toString(16).toUpperCase().padStart(4, '0')}`;
  return name === undefined ? code : `${code} ${name}`;
}

/** The text as pages and terminals show it: what would act on what stands beside it is written out, `[U+202E RLO]`. */
export const shownPlainly = (text: string): string => text.replace(ACTING, (character) => `[${codeOf(character)}]`);

/** What no name of a file may hold: characters that act on others or on the line, and cannot be seen. */
export const UNFIT_IN_NAMES = new RegExp(`[\\p{Cc}\\p{Zl}\\p{Zp}${TURNING}]`, 'u');
