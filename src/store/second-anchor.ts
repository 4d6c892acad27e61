import { AppError } from '../base/errors.js';
import type { Anchor } from '../ledger/anchor.js';
import { AnchorFile } from './anchor-file.js';
import { AnchorUrl } from './anchor-url.js';
import type { DataFolder } from './data-folder.js';

/** The anchor of a data folder in a second place: a file, or an address that somebody else keeps. */
export type SecondAnchor = AnchorFile | AnchorUrl;

export function secondAnchorOf({ path, secondAnchor }: DataFolder): SecondAnchor | undefined {
  if (secondAnchor === undefined) return undefined;
  return AnchorUrl.isAddress(secondAnchor) ? AnchorUrl.ofFolder(path, secondAnchor) : new AnchorFile(secondAnchor);
}

/**
 * What the second place holds; undefined where an address does not answer, which stops no work.
 * @throws AppError ALTERED when it holds something else.
 */
export async function readIfReached(second: SecondAnchor): Promise<Anchor | undefined> {
  try {
    return await second.read();
  } catch (error) {
    if (second instanceof AnchorUrl && error instanceof AppError && error.code === 'STORAGE') return undefined;
    throw error;
  }
}

/** The same for what leaves the house: an address that was not reached for a day stops it. */
export async function readWithinADay(second: SecondAnchor): Promise<Anchor | undefined> {
  try {
    return await second.read();
  } catch (error) {
    if (!(second instanceof AnchorUrl && error instanceof AppError && error.code === 'STORAGE')) throw error;
    if (second.wasReachedToday) return undefined;
    const remedy =
      'no record is made until it is reached again; mend the way to it, or name another place: keys anchor --also';
    throw new AppError('STORAGE', `${error.message}, and was not for a day: ${remedy}`);
  }
}

/** Leaves a head in the second place. What fails is named by the next check. */
export async function keepElsewhere(second: SecondAnchor, head: string): Promise<void> {
  try {
    if (second instanceof AnchorUrl) return await second.keep(head);
    second.read();
    second.append(head);
  } catch {}
}
