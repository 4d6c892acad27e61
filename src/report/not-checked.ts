/**
 * What no check of this version asks, since its facts are not recorded. A later version that records them takes the code out
 * here; the record then says what it knows where it said before that it knows nothing.
 */
export const NOT_CHECKED = [
  'design',
  'shape',
  'media-and-tools',
  'cleaning-and-packing',
  'sterile-load',
  'nonconformity-reports',
  'signal-outcomes',
  'distribution',
  'risk-controls',
  'prescriber-acceptance',
] as const;
export type NotChecked = (typeof NOT_CHECKED)[number];
