// Writes the documents that are made from the code. Run it after a build: node scripts/write-docs.mjs
import { mkdirSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { CALCULATIONS } from '../dist/calculations.js';
import { exampleDocument, formulasDocument, jsonText } from '../dist/statistics/formulas-doc.js';

const docs = fileURLToPath(new URL('../docs/', import.meta.url));

/** Each writer makes one family of documents; add one for every further family. */
const writers = [writeFormulas, writeCalculationExamples];

for (const write of writers) write();

function writeFormulas() {
  writeFileSync(`${docs}formulas.md`, formulasDocument(CALCULATIONS));
}

function writeCalculationExamples() {
  const folder = `${docs}calculations/`;
  mkdirSync(folder, { recursive: true });
  for (const file of readdirSync(folder)) rmSync(folder + file);
  for (const calculation of CALCULATIONS) {
    writeFileSync(`${folder}${calculation.name}.json`, `${jsonText(exampleDocument(calculation))}\n`);
  }
}
