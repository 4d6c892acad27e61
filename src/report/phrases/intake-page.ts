import { afterStoredText } from './stored-parts.js';

const GIB = 1024 ** 3;

const sizeText = (bytes: number): string => {
  if (bytes < 1000) return `${bytes} bytes`;
  const [size, unit] =
    bytes < 999_500 ? [bytes / 1e3, 'kB'] : bytes < 999_500_000 ? [bytes / 1e6, 'MB'] : [bytes / 1e9, 'GB'];
  return `${size < 10 ? size.toFixed(1) : size.toFixed(0)} ${unit}`;
};

/** What the page that takes documents in says around the facts. */
export const INTAKE_PAGE = {
  stored: 'Stored:',
  limits: (limits: { files: number; uploadFileBytes: number; uploadBytes: number }) =>
    `At most ${limits.files.toLocaleString('en').replaceAll(',', ' ')} files, ${limits.uploadFileBytes / GIB} GiB in one of them and ${limits.uploadBytes / GIB} GiB in all; the command takes in larger files.`,
  whole: 'What was sent',
  person: (name: string | undefined, code: string) => (name === undefined ? code : `${name} (${code})`),
  sent: (files: number, bytes: number, at: string) =>
    `${files === 1 ? '1 file' : `${files} files`}, ${sizeText(bytes)}, sent since ${at}`,
  unfinished: (file: string, received: number, of: number) =>
    `${file}: ${sizeText(received)} of ${sizeText(of)} are here`,
  storeButton: (things: number) => (things === 1 ? 'Store this 1 thing' : `Store these ${things} things`),
  storedLately: ({ documents, lots }: { documents: readonly { key: string }[]; lots: readonly string[] }) => {
    const count = documents.length === 1 ? '1 document' : `${documents.length} documents`;
    return lots.length === 0 ? count : `${count}, lots ${lots.join(', ')}`;
  },
  wrong: (problems: number, stored: readonly string[]) => {
    const count = problems === 1 ? 'one thing is wrong' : `${problems} things are wrong`;
    return stored.length === 0 ? `${count}, and nothing was stored` : afterStoredText(count, stored);
  },
};
