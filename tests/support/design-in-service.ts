import { Baselines } from '../../src/design-file/baselines.js';
import { writeCell } from './cell.js';
import { DESIGN_DOCUMENTS, DESIGN_FILES, ENVELOPE } from './documents/design-history.js';
import type { TestService } from './service.js';
import { signWhatCameIn } from './sign-cell.js';

/** Not part of a design as it is drawn up. */
const LATER = ['gap-answer', 'baseline', 'software'];

/** Pages of the design that `takeDesignHistory` takes in. */
export const DESIGN_PAGES = [
  '/design?family=PLATE',
  '/design/entry?family=PLATE&kind=design-study&key=DS-1',
  '/design/compare?family=PLATE&from=freeze-1&to=',
  '/design/device-file?family=PLATE',
  '/design/change?family=PLATE&change=DC-1',
  '/design/ranges?family=PLATE',
] as const;

/** Takes a design in with a document of each kind, signed and frozen, and revises one of its needs after that. */
export async function takeDesignHistory({ services, app }: Pick<TestService, 'services' | 'app'>): Promise<void> {
  const drawnUp = Object.entries(DESIGN_DOCUMENTS).filter(([, { kind }]) => !LATER.includes(kind));
  const documents = { ...Object.fromEntries(drawnUp), 'site/design/envelope.yaml': ENVELOPE };
  await services.intake.run(writeCell({ documents, sheets: {}, files: DESIGN_FILES }), 'local:tester');
  await signWhatCameIn(services);
  await app.get(Baselines).freeze('PLATE', 'freeze-1', 'local:tester');
  const need = {
    kind: 'user-need',
    ...DESIGN_DOCUMENTS['site/design/need.yaml'],
    revision: 2,
    text: 'it holds for twelve weeks',
  };
  await services.intake.take([{ file: 'need.yaml', document: need }], 'local:tester');
  await signWhatCameIn(services);
}
