import { customStatement, statementSubject } from '../assessment/custom-statement.js';
import { NotFoundError } from '../base/errors.js';
import { timeText } from '../dossier/time-text.js';
import { lotAddress } from '../report/page-addresses.js';
import { PAPER } from '../report/phrases/paper.js';
import { STATEMENT } from '../report/phrases/statement.js';
import { THINGS } from '../report/phrases/things.js';
import { sideText } from '../report/phrases/trade-codes.js';
import type { LatestLot } from './lots-behind.js';
import type { Signable } from './signable.js';
import type { Thing } from './thing.js';

/**
 * The statement of a custom-made device, as it reads now.
 * @throws NotFoundError when there is no such implant, or something is missing without which nothing can be stated.
 */
export async function statementToSign(latest: LatestLot, { key }: Thing): Promise<Signable> {
  const [lot = '', serial = ''] = key.split(':');
  const facts = (await latest(lot))?.facts;
  const implant = facts?.lot.body.implants.find((one) => one.serial === serial);
  const stated = facts && implant && customStatement(facts, implant);
  if (!stated || 'lacks' in stated) throw new NotFoundError('statement that can be written', key);
  const { manufacturer, conformity, device, prescription } = stated;
  return {
    subject: statementSubject(stated),
    title: THINGS.statement(serial, lot),
    lot,
    ofCase: stated.patient,
    touches: [serial],
    shows: [
      [STATEMENT.manufacturer, PAPER.maker(manufacturer)],
      [STATEMENT.sites, manufacturer.sites.join('; ')],
      [STATEMENT.device, STATEMENT.deviceOf(device.name, serial, lot, device.iteration, device.alloy)],
      [STATEMENT.intendedFor, STATEMENT.patient(stated.patient)],
      [STATEMENT.prescribedBy, PAPER.prescriber(stated.prescriber)],
      [STATEMENT.prescription, STATEMENT.prescriptionOf(prescription.reference, timeText(prescription.at))],
      [
        STATEMENT.prescribed,
        STATEMENT.prescribedFor(stated.prescribedCharacteristics, stated.anatomicalSite, sideText(stated.side)),
      ],
      [STATEMENT.substances, conformity.substances],
      ...conformity.exceptions.map(({ requirement, grounds }) => [requirement, grounds] as const),
    ],
    page: lotAddress(lot),
    doers: {},
  };
}
