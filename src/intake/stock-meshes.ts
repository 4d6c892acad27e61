import { BadInputError, type Problem } from '../base/errors.js';
import type { StockPart } from '../kinds/degradation/stock-part.js';
import { bodyIf } from './known.js';
import type { ReadFolder, SiteDocument } from './read-folder.js';
import { hash } from './shape-files.js';

/**
 * The folder with the digest of the mesh of each stock part, so that who accepts one signs the bytes and not a path.
 * @throws BadInputError where a document says another digest than its file has.
 */
export async function withMeshDigests(read: ReadFolder): Promise<ReadFolder> {
  const problems: Problem[] = [];
  const site: SiteDocument[] = [];
  for (const item of read.site) site.push(await withDigest(item, problems));
  if (problems.length > 0) throw new BadInputError(problems);
  return { ...read, site };
}

async function withDigest(item: SiteDocument, problems: Problem[]): Promise<SiteDocument> {
  const { document, files } = item;
  const stock = bodyIf('stock-part', document);
  const file = files.find(({ field }) => field === 'mesh.file');
  if (stock?.mesh === undefined || file === undefined) return item;
  const sha256 = await hash(file);
  const said = stock.mesh.sha256;
  if (said !== undefined && said !== sha256) {
    const field = 'mesh.sha256';
    problems.push({
      ...{ code: 'mesh-differs', file: document.file, line: document.lineOf(field), field, found: said },
      expected: `${sha256}, the digest of ${file.name}`,
      remedy: 'name the file that was meant, or leave the digest out: it is found as the file comes in',
    });
    return item;
  }
  const mesh = { ...stock.mesh, sha256 };
  const written = { ...(document.written as StockPart), mesh };
  return { ...item, document: { ...document, written, body: { ...stock, mesh } } };
}
