import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { brotliDecompressSync, gunzipSync } from 'node:zlib';
import { STREAM_VERSIONS } from '../../src/kinds/stream-versions.js';
import { pinMoves } from '../../src/qualification/pins/pin-lot.js';
import { temporaryFolder } from '../support/cell.js';
import { streamsDocument } from '../support/mtconnect-maker.js';
import { withTool } from '../support/tools.js';

/** Documents of MTConnect against the published schemas (tests/reference/mtconnect), by xmllint: a reader that is not ours. */

/** Their schemas are in XSD 1.1, which xmllint does not read. */
const NOT_READ: ReadonlySet<string> = new Set(['1.7', '1.8']);

withTool('xmllint', 'documents of MTConnect, by the published schemas', () => {
  const folder = temporaryFolder('mtconnect-valid');
  const schemas = JSON.parse(
    brotliDecompressSync(fs.readFileSync('tests/reference/mtconnect/streams-schemas.json.br')).toString('utf8'),
  ) as Readonly<Record<string, string>>;

  /** What xmllint says of documents of one version: one line for each that is valid. */
  function said(version: string, documents: readonly (string | Buffer)[]): string[] {
    const schema = path.join(folder, `${version}.xsd`);
    fs.writeFileSync(schema, schemas[`MTConnectStreams_${version}.xsd`]!);
    const files = documents.map((document, index) => {
      const file = path.join(folder, `${index}.xml`);
      fs.writeFileSync(file, document);
      return file;
    });
    const { stderr } = spawnSync('xmllint', ['--nonet', '--noout', '--schema', schema, ...files], { encoding: 'utf8' });
    return stderr.trim().split('\n');
  }
  const isValid = (line: string) => line.endsWith('.xml validates');

  it.each(STREAM_VERSIONS.filter((version) => !NOT_READ.has(version)))(
    'are valid where they hold every observation of version %s, and not with one that it does not know',
    (version) => {
      const bytes = gunzipSync(fs.readFileSync(`tests/reference/mtconnect/by-schema/${version}.xml.gz`));
      expect(said(version, [bytes]).filter((line) => !isValid(line))).toEqual([]);
      const other = bytes
        .toString('utf8')
        .replace(/<Load /, '<Lode ')
        .replace(/<\/Load>/, '</Lode>');
      expect(said(version, [other]).at(-1)).toMatch(/fails to validate$/);
    },
  );

  it('are valid as the agent of the demo gives them, all that are recorded', async () => {
    const recorded = temporaryFolder('recordings');
    for (const move of pinMoves()) if (move.does === 'record') await move.record(recorded);
    const names = fs.readdirSync(recorded).filter((name) => name.endsWith('.gz'));
    const documents = names.flatMap((name) =>
      gunzipSync(fs.readFileSync(path.join(recorded, name)))
        .toString('utf8')
        .split(/(?=<\?xml)/),
    );
    expect(documents.length).toBeGreaterThan(names.length);
    const lines = said('2.1', documents);
    expect(lines.filter((line) => !isValid(line))).toEqual([]);
    expect(lines).toHaveLength(documents.length);
  });

  it('are valid as other tests make them, by the version after which they are made', () => {
    const at = '2031-03-03T07:00:00Z';
    const observations = [
      { category: 'Samples', element: 'Load', dataItemId: 'l', timestamp: at, sequence: 1, value: '5' },
      {
        category: 'Condition',
        element: 'Fault',
        dataItemId: 'c',
        timestamp: at,
        sequence: 2,
        more: { type: 'SYSTEM' },
      },
    ] as const;
    expect(said('1.4', [streamsDocument({ observations })]).filter((line) => !isValid(line))).toEqual([]);
  });
});
