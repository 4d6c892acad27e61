/** What of a thing an identifier is that is not the thing's own key. */
export type IdentifierUse =
  | 'revision'
  | 'lot at the supplier'
  | 'lot on the label'
  | 'certificate'
  | 'calibration certificate'
  | 'device identifier'
  | 'number at the authority'
  | 'report'
  | 'digest of a revision'
  | 'digest of a signed act'
  | 'digest of a lot file'
  | 'digest of an assessment'
  | 'log finding'
  | 'check finding'
  | 'file'
  | 'record'
  | 'program that assessed';

const DETAIL_LENGTH = 64;

/** `found as calibration certificate C-17` */
export const identifierText = ({ use, detail }: { readonly use: IdentifierUse; readonly detail: string }): string =>
  `found as ${use} ${detail.length > DETAIL_LENGTH ? `${detail.slice(0, DETAIL_LENGTH)}…` : detail}`;
