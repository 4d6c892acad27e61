import fs from 'node:fs';
import { isBuiltin } from 'node:module';
import path from 'node:path';

const FOLDER = path.resolve('third-party', 'nest');
const json = (file: string): unknown => JSON.parse(fs.readFileSync(file, 'utf8'));
const manifest = json('package.json') as { readonly dependencies: Readonly<Record<string, string>> };
const { packages } = json('package-lock.json') as {
  readonly packages: Readonly<Record<string, { readonly version: string; readonly dev?: boolean }>>;
};

function textsBelow(folder: string): string[] {
  const names = fs.readdirSync(folder, { recursive: true, encoding: 'utf8' });
  return names.filter((name) => name.endsWith('.js')).map((name) => fs.readFileSync(path.join(folder, name), 'utf8'));
}

it('loads the framework from its few files, and never a second one from its packages', () => {
  const compiled = textsBelow(path.resolve('dist'));
  expect(compiled.filter((text) => text.includes('third-party/nest/core.js')).length).toBeGreaterThan(0);
  expect(compiled.filter((text) => /\b(from |import\()['"](@nestjs\/|rxjs)/.test(text))).toEqual([]);
});

it('takes nothing from outside these files but what the program names as its own dependency', () => {
  const outside = textsBelow(FOLDER)
    .flatMap((text) => [...text.matchAll(/^(?:import|export)\b[^'"\n]*["']([^."'][^"']*)["']/gm)])
    .map(([, name]) => name!)
    .filter((name) => !isBuiltin(name));
  expect(outside).toContain('express');
  expect(outside.filter((name) => !Object.hasOwn(manifest.dependencies, name))).toEqual([]);
});

it('has in them what the lock file names for the program, with the licence of each', () => {
  const licences = fs.readFileSync(path.join(FOLDER, 'LICENSES.md'), 'utf8').split(/^## /m).slice(1);
  expect(licences.length).toBeGreaterThan(10);
  for (const licence of licences) {
    const [, name, version] = /^(\S+) - (\S+)/.exec(licence) ?? [];
    const places = Object.entries(packages).filter(([place]) => place.endsWith(`node_modules/${name}`));
    expect(places).toContainEqual([expect.anything(), expect.objectContaining({ version })]);
    expect(places.every(([, { dev }]) => dev === true)).toBe(false);
    expect(licence.length).toBeGreaterThan(400);
  }
});
