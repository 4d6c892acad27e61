/** A reported value: the number as text, with the qualifier that the laboratory or the certificate gave. */
export interface Reported {
  readonly qualifier: '' | '<' | '≤' | '>' | '≥';
  readonly number: string;
}

export function readReported(text: string): Reported {
  const match = /^([<>≤≥]?)\s?(.+)$/.exec(text)!;
  return { qualifier: match[1] as Reported['qualifier'], number: match[2]! };
}
