// usage: node tests/reference/write-published-suites.mjs YAML_FOLDER CSV_FOLDER
// Writes yaml-test-suite.json and csv-spectrum.json beside it from work trees of
// - yaml/yaml-test-suite at ccfa74e56afb (MIT, copyright 2016-2020 Ingy döt Net), whose src/*.yaml show blanks by signs,
// - max-mapper/csv-spectrum at d30e80f8b99d (BSD-2-Clause, as its package.json says).
import fs from 'node:fs';
import path from 'node:path';
import { parse } from 'yaml';

const [yamlFolder, csvFolder] = process.argv.slice(2);

/** As bin/YAMLTestSuite.pm of the suite does it. */
const shown = (text) =>
  text
    .replaceAll('␣', ' ')
    .replaceAll(/—*»/g, '\t')
    .replaceAll('←', '\r')
    .replaceAll('⇔', '\ufeff')
    .replaceAll('↵', '')
    .replace(/∎\n$/, '');

const yamlCases = [];
for (const file of fs.readdirSync(path.join(yamlFolder, 'src')).sort()) {
  let before = {};
  const cases = parse(fs.readFileSync(path.join(yamlFolder, 'src', file), 'utf8'));
  for (const [index, one] of cases.entries()) {
    before = { ...before, ...one };
    if (before.skip) continue;
    const { yaml, fail, json } = {
      ...before,
      fail: one.fail ?? false,
      json: one.json ?? (one.yaml ? undefined : before.json),
    };
    yamlCases.push({
      id: `${path.basename(file, '.yaml')}${cases.length > 1 ? `/${index}` : ''}`,
      yaml: shown(yaml),
      ...(fail ? { fail: true } : json === undefined || json === null ? {} : { json: shown(json) }),
    });
  }
}
const write = (name, source, licence, cases) =>
  fs.writeFileSync(
    new URL(`./${name}.json`, import.meta.url),
    `${JSON.stringify({ source, licence, cases }, null, 1)}\n`,
  );
const licence = fs.readFileSync(path.join(yamlFolder, 'License'), 'utf8');
write('yaml-test-suite', 'github.com/yaml/yaml-test-suite at ccfa74e56afb', licence, yamlCases);

const csvCases = fs
  .readdirSync(path.join(csvFolder, 'csvs'))
  .sort()
  .map((file) => {
    const name = path.basename(file, '.csv');
    const json = JSON.parse(fs.readFileSync(path.join(csvFolder, 'json', `${name}.json`), 'utf8'));
    return { name, csv: fs.readFileSync(path.join(csvFolder, 'csvs', file), 'utf8'), json };
  });
write('csv-spectrum', 'github.com/max-mapper/csv-spectrum at d30e80f8b99d', 'BSD-2-Clause', csvCases);
