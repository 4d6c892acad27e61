import type { Problem } from '../base/errors.js';

/** What stands in a folder or an archive and is no plain file with a plain name: said in one way, however it came. */

/** Whether a folder that is taken in passes a file over: hidden files of systems and programs are no documents. */
export const isHidden = (name: string): boolean => name.split('/').some((step) => step.startsWith('.'));

/** The part of a hidden path that hides it: of a hidden folder the folder, with a slash behind it. */
export function hiddenPart(name: string): string {
  const steps = name.split('/');
  const at = steps.findIndex((step) => step.startsWith('.'));
  return at === steps.length - 1 ? name : `${steps.slice(0, at + 1).join('/')}/`;
}

/** @param found what it is instead: a link, a pipe. */
export const noPlainFile = (file: string, found: string): Problem => ({
  code: 'link',
  file,
  found,
  expected: 'a file or a folder',
  remedy: 'put the file itself into the folder: a link may lead outside it, and of anything else nothing can be kept',
});

export const tooManyFiles = (most: number): Problem => ({
  code: 'too-many-files',
  found: `more than ${most} files and folders`,
  expected: `at most ${most}`,
  remedy: 'take in a part of the folder at a time',
});

/** A name in bytes that are no UTF-8. They are shown as they are, two digits each. */
export const nameNotUtf8 = (folder: string, name: Uint8Array): Problem => ({
  code: 'path',
  file: folder === '' ? escapedName(name) : `${folder}/${escapedName(name)}`,
  found: `a name of which 0x${wrongByte(name)} is no UTF-8`,
  expected: 'names in UTF-8',
  remedy: 'rename the file',
});

function escapedName(name: Uint8Array): string {
  return [...name].map((byte) => (byte > 0x20 && byte < 0x7f ? String.fromCharCode(byte) : `\\x${hex(byte)}`)).join('');
}

/** The first byte at which the name stops being UTF-8. */
function wrongByte(name: Uint8Array): string {
  const kept = [...name.keys()].find((end) => new TextDecoder().decode(name.subarray(0, end + 1)).includes('\ufffd'));
  return hex(name[kept ?? 0]!);
}

const hex = (byte: number): string => byte.toString(16).padStart(2, '0');
