import { PAPER } from './paper.js';

/** Why a record is sealed, as the seal itself says it. */
export const SEAL_REASON = 'Seals the file as issued; it is no signature of a person';

/** Whom the certificate names with which this program seals where the cell brought none. */
export const sealOwner = (demo: boolean): string => `Lotwright record seal${demo ? PAPER.demo : ''}`;

/** What a seal is called in the file, and what it is. */
export const SEAL_FIELD = {
  title: (name: string) => `Seal of ${name}`,
  alt: 'Seal over the whole file',
};
