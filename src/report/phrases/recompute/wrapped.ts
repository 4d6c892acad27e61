const WIDTH = 122;

/** A paragraph in lines that a terminal shows whole. @param indent before each line, and how the first one differs. */
export function wrapped(text: string, indent: string, first = indent): string {
  const lines = [first];
  for (const word of text.split(/\s+/)) {
    const line = lines.at(-1)!;
    const joined = line.trim() === '' ? `${line}${word}` : `${line} ${word}`;
    if (joined.length > WIDTH && line.trim() !== '') lines.push(`${indent}${word}`);
    else lines[lines.length - 1] = joined;
  }
  return lines.join('\n');
}
