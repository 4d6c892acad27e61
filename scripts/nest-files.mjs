import fs from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

/** Where the framework lies in few files. */
export const NEST_FOLDER = fileURLToPath(new URL('../third-party/nest', import.meta.url));

/** Its files by the names that sources import. What these share lies beside them. */
export const NEST_FILES = {
  '@nestjs/common': 'common.js',
  '@nestjs/common/constants.js': 'constants.js',
  '@nestjs/common/enums/route-paramtypes.enum.js': 'route-paramtypes.js',
  '@nestjs/core': 'core.js',
  '@nestjs/platform-express': 'platform-express.js',
  rxjs: 'rxjs.js',
};

/** Whether a package goes into them. */
export const isOfNest = (name) => /^(@nestjs\/|rxjs($|\/))/.test(name);

/** Lets compiled code load these files. @throws Error for a name of which there is no file. */
export function importNestFiles(dist) {
  for (const name of fs.readdirSync(dist, { recursive: true, encoding: 'utf8' })) {
    if (!name.endsWith('.js')) continue;
    const file = path.join(dist, name);
    const text = fs.readFileSync(file, 'utf8');
    const changed = text.replaceAll(/\b(from |import\()'([^.'][^']*)'/g, (whole, before, imported) => {
      if (!isOfNest(imported)) return whole;
      const target = NEST_FILES[imported];
      if (target === undefined) throw new Error(`${file}: name ${imported} in scripts/nest-files.mjs`);
      const from = path.relative(path.dirname(file), path.join(NEST_FOLDER, target));
      return `${before}'${from.replaceAll(path.sep, '/')}'`;
    });
    if (changed !== text) fs.writeFileSync(file, changed);
  }
}
