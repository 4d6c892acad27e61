// usage: node scripts/write-docs.mjs: writes the documents that are made from the code.
import fs from 'node:fs';
import path from 'node:path';
import { ensureBuilt, ROOT } from './ensure.mjs';

ensureBuilt();
const { CALCULATIONS } = await import('../dist/calculations/catalogue.js');
const { exampleDocument, formulasDocument, jsonText } = await import('../dist/calculations/formulas-doc.js');

const { KINDS } = await import('../dist/kinds/catalogue.js');
const { formatsDocument, schemaOf } = await import('../dist/kinds/formats-doc.js');
const { starterText } = await import('../dist/kinds/starters.js');
const { kindText } = await import('../dist/report/phrases/kinds.js');
const { RESULT_COLUMNS } = await import('../dist/kinds/result.js');
const { QUALIFIED_TO } = await import('../dist/people/acts.js');

const { withDesignTables } = await import('../dist/report/phrases/gaps/rules-doc.js');
const { CHECKLISTS, checklistFile, checklistText } = await import('../dist/report/phrases/checklists.js');
const { withTieTable } = await import('../dist/report/phrases/ties-doc.js');
const { withReportingTimes } = await import('../dist/report/phrases/reporting-times-doc.js');
const { withCommandTable } = await import('../dist/cli/command-table.js');
const { buildProgram } = await import('../dist/program.js');
const { publishedAnswers } = await import('../dist/published-answers.js');

const docs = path.join(ROOT, 'docs');

/** Each writer makes one family of documents; add one for every further family. */
const writers = [
  writeFormulas,
  writeCalculationExamples,
  writeFormats,
  writeAnswerSchemas,
  writeStarters,
  writeChecklists,
  writeGapRules,
  writeTraceTables,
  writeCommandTable,
];

for (const write of writers) write();

function writeFormulas() {
  fs.mkdirSync(docs, { recursive: true });
  fs.writeFileSync(path.join(docs, 'formulas.md'), formulasDocument(CALCULATIONS));
}

function writeCalculationExamples() {
  const folder = path.join(docs, 'calculations');
  fs.rmSync(folder, { recursive: true, force: true });
  fs.mkdirSync(folder, { recursive: true });
  for (const calculation of CALCULATIONS) {
    const file = path.join(folder, `${calculation.name}.json`);
    fs.writeFileSync(file, `${jsonText(exampleDocument(calculation))}\n`);
  }
}

function writeFormats() {
  const formats = formatsDocument(KINDS, kindText, RESULT_COLUMNS, Object.values(QUALIFIED_TO));
  fs.writeFileSync(path.join(docs, 'formats.md'), formats);
  const folder = path.join(docs, 'schemas');
  fs.rmSync(folder, { recursive: true, force: true });
  fs.mkdirSync(folder, { recursive: true });
  for (const kind of KINDS) {
    fs.writeFileSync(path.join(folder, `${kind.kind}.json`), `${jsonText(schemaOf(kind, kindText(kind.kind)))}\n`);
  }
}

function writeAnswerSchemas() {
  const folder = path.join(docs, 'schemas', 'answers');
  fs.mkdirSync(folder, { recursive: true });
  for (const [name, schema] of publishedAnswers()) {
    fs.writeFileSync(path.join(folder, `${name}.json`), `${jsonText(schema)}\n`);
  }
}

/** The one for a version of the program is written by hand: it tells what the cell asks of the program. */
function writeStarters() {
  for (const kind of KINDS.filter((one) => one.kind !== 'program-version')) {
    const file = path.join(ROOT, 'templates', 'starters', `${kind.kind}.yaml`);
    fs.writeFileSync(file, starterText(kind, kindText(kind.kind)));
  }
}

function writeChecklists() {
  for (const of of CHECKLISTS) {
    fs.writeFileSync(path.join(ROOT, 'templates', 'starters', checklistFile(of)), checklistText(of));
  }
}

function writeGapRules() {
  const file = path.join(docs, 'design-history.md');
  fs.writeFileSync(file, withDesignTables(fs.readFileSync(file, 'utf8')));
}

function writeTraceTables() {
  const file = path.join(docs, 'trace.md');
  fs.writeFileSync(file, withReportingTimes(withTieTable(fs.readFileSync(file, 'utf8'))));
}

function writeCommandTable() {
  const file = path.join(ROOT, 'README.md');
  fs.writeFileSync(file, withCommandTable(fs.readFileSync(file, 'utf8'), buildProgram()));
}
