/** Words of programs: a person who reads one of them is told nothing. */
const WORDS_OF_PROGRAMS = [
  /Invalid input/i,
  /\bexpected (?:string|number|object|array|boolean|undefined|record|one of)\b/i,
  /\bundefined\b/,
  /\bNaN\b/,
  /\[object/,
  /\breceived\b/i,
  /\bUnrecognized key/i,
  /\bregex|pattern \//i,
  /Too (?:small|big)\b/,
];

/** What of a message is no word for people; nothing of a good one. */
export const notForPeople = (says: string): string[] =>
  WORDS_OF_PROGRAMS.filter((word) => word.test(says)).map((word) => `${word} in: ${says}`);
