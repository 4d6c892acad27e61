import fs from 'node:fs';
import path from 'node:path';
import { PROGRAM_ROOT } from '../base/settings.js';
import type { DesignOrder } from './design-template.js';
import { parseTemplate, type RecordTemplate } from './record-template.js';

const FILE = path.join('templates', 'records', 'lot-record.yaml');

/** Text of the template that new records are made by. */
export function standardTemplateText(): string {
  return fs.readFileSync(path.join(PROGRAM_ROOT, FILE), 'utf8');
}

let known: { readonly text: string; readonly template: RecordTemplate } | undefined;

/**
 * The template that new records are made by; pages print its cautions too. Read again when somebody edited the file.
 * @throws BadInputError as `parseTemplate`.
 */
export function standardTemplate(): RecordTemplate {
  const text = standardTemplateText();
  if (known?.text !== text) known = { text, template: parseTemplate(text, FILE) };
  return known.template;
}

/** Text of a template of the file of a design. */
export const designTemplateText = (order: DesignOrder): string =>
  fs.readFileSync(path.join(PROGRAM_ROOT, 'templates', 'records', `${order}.yaml`), 'utf8');
