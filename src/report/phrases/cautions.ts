/** What the cautions of the record do not say, and pages do. */
export const CAUTIONS_MORE = {
  proposed: 'Every outcome is proposed by the program; a named, qualified person decides.',
};
