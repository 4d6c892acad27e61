import fs from 'node:fs';
import { fileURLToPath } from 'node:url';
import { transformSync } from '@swc/core';

const OPTIONS = {
  jsc: {
    parser: { syntax: 'typescript', decorators: true },
    transform: { legacyDecorator: true, decoratorMetadata: true },
    target: 'es2022',
  },
  module: { type: 'es6' },
};

/** Sources import each other by the name of the compiled file. */
export async function resolve(specifier, context, next) {
  if (/^\.{1,2}\/.*\.js$/.test(specifier) && context.parentURL?.startsWith('file:')) {
    const source = new URL(specifier.replace(/\.js$/, '.ts'), context.parentURL);
    if (fs.existsSync(source)) return { url: source.href, shortCircuit: true };
  }
  return next(specifier, context);
}

export async function load(url, context, next) {
  if (!url.startsWith('file:') || !url.endsWith('.ts')) return next(url, context);
  const file = fileURLToPath(url);
  const { code } = transformSync(fs.readFileSync(file, 'utf8'), { ...OPTIONS, filename: file });
  return { format: 'module', source: code, shortCircuit: true };
}
