import { createRequire } from 'node:module';
import path from 'node:path';

const packageFolder = path.dirname(
  createRequire(import.meta.url).resolve('@expo-google-fonts/source-sans-3/package.json'),
);

/** Fonts that pages load from this service: the texts of the charts were measured with them. */
export const FONT_FILES = [
  { name: 'source-sans-3-regular.ttf', file: path.join(packageFolder, '400Regular', 'SourceSans3_400Regular.ttf') },
  { name: 'source-sans-3-bold.ttf', file: path.join(packageFolder, '700Bold', 'SourceSans3_700Bold.ttf') },
] as const;
