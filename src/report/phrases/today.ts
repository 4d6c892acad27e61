import { capital } from './capital.js';
import { counted } from './counted.js';

/** Words of the page that says what a person should do today. */
export const TODAY = {
  build: (build: string, machine: string) => `Build ${build} on ${machine}`,
  seeBuild: 'See the build',
  valuesMissing: (count: number, first: string) =>
    count === 1 ? first : `${count} results are not there. The first of them: ${first}`,
  seeTests: 'See the tests',
  typeResults: 'Type the results',
  typeAgain: (method: string, by: string) => `Type the results of ${method} again, which ${by} handed over`,
  toType: 'Type it again',
  assess: 'Not assessed yet',
  assessAgain: 'Facts came in since it was assessed',
  stale:
    'It waits to be assessed: facts came in since, or the program is newer. What the last assessment says is not shown.',
  assessMany: (lots: readonly string[]) =>
    `${lots.length} lots wait to be assessed, as facts came in: ${lots.slice(0, 3).join(', ')} and ${lots.length - 3} more`,
  assessThem: 'Assess them again',
  seeLots: 'See the lots',
  seeLot: 'Open the lot',
  hold: (reason: string) => `On hold: ${reason}`,
  liftHold: 'Lift the hold',
  changedVerdicts: (says: readonly string[], released: readonly string[]) =>
    `Verdicts that this version of the program changed. ${says.join(' ')}${released.length === 0 ? '' : ` Released: ${released.join(', ')}.`}`,
  lookAtThem: 'Look at them',
  moreExceptions: (more: number) => `And ${more} more: see the summary of the lot`,
  moreChanged: (lots: number) => `And ${lots} more lots with changed verdicts`,
  renew: {
    calibration: 'Enter a calibration',
    upkeep: 'Enter the upkeep',
    material: 'Enter a revision',
    qualification: 'Enter a training',
    validation: 'Enter a revision',
    permission: 'Enter a revision',
  },
  enterDesign: 'Enter a design',
  sheetBegun: (method: string, changed: string) =>
    `Results of ${method} that you began to type, last changed ${changed}`,
  formBegun: (kind: string, changed: string) => `A form that you began: ${kind}, last changed ${changed}`,
  aroundFinding: 'What the log showed around it',
  topics: {
    sign: 'To sign',
    decide: 'To decide',
    make: 'To make, measure or type',
    held: 'On hold',
    wrong: 'Nonconformities and open gaps',
    ends: 'Ends soon',
    installation: 'The installation',
    question: 'Questions',
  },
  ends: (what: string, overdue: boolean) => `${capital(what)} ${overdue ? 'ended and was not renewed' : 'ends'}`,
  noDesign: (isThere: boolean) =>
    isThere ? 'Its design is not approved in the iteration to be built' : 'No design is there yet',
  nonconformity: (says: string, evaluated: boolean, disposed: boolean) =>
    `Nonconformity, ${!evaluated ? 'to be evaluated' : !disposed ? 'its disposition is open' : 'to be closed'}: ${says}`,
  goOn: 'Go on with it',
  corrective: (what: string, by: string, triggers: readonly string[], cause: string) =>
    `Corrective action against ${triggers.join(', ')} (cause: ${cause}), by ${by}: ${what}`,
  effect: (triggers: readonly string[], cause: string) =>
    `Say whether the corrective action against ${triggers.join(', ')} worked (cause: ${cause})`,
  signal: (title: string, family: string, point: string, rule: string, more: number) =>
    `Say what a signal came from: ${title} of family ${family}, ${rule} at ${point}${more === 0 ? '' : `, and ${more} later ${more === 1 ? 'one' : 'ones'}`}`,
  seeCharts: 'See the charts',
  nobodyMay: (act: string, titles: readonly string[]) =>
    `Nobody may ${act} at present: ${titles.length <= 4 ? titles.join('; ') : `${titles.slice(0, 3).join('; ')} and ${titles.length - 3} more`}`,
  nobodyWhoMay: 'nobody who may',
  toBeAssessed: 'being assessed anew',
  morePeople: (count: number) => `${count} more`,
  seePeople: 'People and roles',
  noBackup: 'No backup was ever made: npx lotwright backup FILE',
  lastBackup: (at: string) => `The last backup is of ${at}`,
  noIntegrity: 'Nothing that is kept was checked yet',
  integrity: (at: string, files: number, faults: number) =>
    faults === 0
      ? `All evidence was checked at ${at}: ${files} files, none damaged`
      : `All evidence was checked at ${at}: ${faults} faults`,
  fault: (what: string, name: string, says: string) => `${what} ${name}: ${says}`,
  noPassword: (name: string) => `${name} has not set a password yet`,
  seeAccount: 'See the account',
  seeProtection: 'See how it is kept',
  alike: (count: number) => `${count} together`,
  questions: [
    { what: 'What auditors ask, with the answers as tables', href: '/questions' },
    { what: 'What was refused', href: '/audit?act=event:act-refused' },
    { what: 'What was signed', href: '/audit?act=statement-signed' },
    { what: 'What was taken in or changed', href: '/audit?act=revision-recorded' },
    { what: 'Which records were issued', href: '/audit?act=record-issued' },
    { what: 'Who may do what', href: '/authority' },
    { what: 'How all this is protected', href: '/protection' },
  ],
  designGaps: (family: string, owners: readonly { readonly owner: string | null; readonly gaps: number }[]) =>
    `Design of family ${family}: ${counted(
      owners.reduce((sum, { gaps }) => sum + gaps, 0),
      'open gap',
    )} without a day, ${owners.map(({ owner, gaps }) => `${gaps} for ${owner ?? 'nobody who is named'}`).join(', ')}`,
  designGap: (family: string, says: string, owners: readonly string[]) =>
    `Design of family ${family}: ${says}${owners.length === 0 ? '' : `, for ${owners.join(', ')}`}`,
  seeDesign: 'See the design',
  designsNotKnown:
    'Open gaps of designs are not known now: the service is busy, or the program was replaced and has to be started again',
  seeDesigns: 'See the families',
  look: 'Look',
};
