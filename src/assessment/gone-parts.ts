import type { Facts } from '../dossier/facts.js';
import { revisionKey } from '../dossier/facts.js';
import type { ResultRow } from '../dossier/tables.js';
import type { Gone } from '../kinds/lot-after-build.js';
import { currentResults } from './specimens.js';

/** Current values of a part by methods that destroy what they measure. */
export const destroyingValues = (facts: Facts, part: string): ResultRow[] =>
  currentResults(facts).filter(
    ({ specimen, method, methodRevision }) =>
      specimen === part &&
      facts.methods.get(revisionKey(method, Number(methodRevision)))?.body.destructive === 'destructive',
  );

/** Whether anything but the entry itself shows what became of a part: a move, a file, or of a tested one the values of its test. */
export const isShown = (facts: Facts, gone: Gone): boolean =>
  gone.as === 'moved' ||
  gone.evidence !== undefined ||
  (gone.as === 'tested' && destroyingValues(facts, gone.part).length > 0);
