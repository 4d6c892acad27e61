import { spawnSync } from 'node:child_process';

/** Debian package that brings each tool. */
const PACKAGES = {
  qpdf: 'qpdf',
  pdftotext: 'poppler-utils',
  pdffonts: 'poppler-utils',
  pdfdetach: 'poppler-utils',
  pdftoppm: 'poppler-utils',
  pdfsig: 'poppler-utils',
  openssl: 'openssl',
  unzip: 'unzip',
  chromium: 'chromium',
  xmllint: 'libxml2-utils',
} as const;

export type Tool = keyof typeof PACKAGES;

export function hasTool(tool: Tool): boolean {
  return spawnSync(tool, ['--version'], { stdio: 'ignore' }).error === undefined;
}

/**
 * Declares a suite that needs programs from Debian. Where one is missing, the suite is named on the console with what to
 * install; with `CI=true` it fails instead.
 */
export function withTools(tools: readonly Tool[], suite: string, declare: () => void): void {
  const missing = tools.filter((tool) => !hasTool(tool));
  if (missing.length === 0) {
    describe(suite, declare);
    return;
  }
  const packages = [...new Set(missing.map((tool) => PACKAGES[tool]))].join(', ');
  const sentence = `"${suite}" could not run: ${missing.join(', ')} not found; install ${packages}`;
  describe(suite, () => {
    it(`needs ${missing.join(', ')}`, () => {
      if (process.env.CI === 'true') throw new Error(sentence);
      console.warn(sentence);
    });
  });
}

/** The same for one program. */
export function withTool(tool: Tool, suite: string, declare: () => void): void {
  withTools([tool], suite, declare);
}
