import { HEADS } from './heads.js';

/** Words of the statement concerning a custom-made device; what it has to say is listed in Annex XIII section 1. */
export const STATEMENT = {
  titleOf: (serial: string) => `Statement concerning the custom-made device ${serial}`,
  title: 'Statement concerning a custom-made device',
  clause: 'Regulation (EU) 2017/745, Annex XIII, section 1',
  manufacturer: 'Manufacturer',
  sites: 'Places of manufacture',
  representative: 'Authorised representative',
  noRepresentative: 'none: the manufacturer is established in the Union',
  device: 'The device',
  deviceOf: (name: string, serial: string, lot: string, designIteration: number, alloy: string) =>
    `${name}, serial ${serial}, lot ${lot}, design iteration ${designIteration}, ${alloy}`,
  intendedFor: 'Intended for',
  patient: (code: string) => `the exclusive use of the patient known to the institution under the code ${code}`,
  prescribedBy: 'Prescribed by',
  prescription: 'Prescription',
  prescriptionOf: (reference: string, at: string) => `${reference} of ${at}`,
  prescribed: HEADS.prescribedCharacteristics,
  prescribedFor: (characteristics: string, anatomicalSite: string, side: string) =>
    `${characteristics}\n${anatomicalSite}, ${side}`,
  substances: 'Medicinal substances, tissues',
  conforms: 'The device conforms to the general safety and performance requirements set out in Annex I.',
  conformsBut:
    'The device conforms to the general safety and performance requirements set out in Annex I, but for those named here with the grounds.',
  exceptions: 'Requirements that are not fully met',
  requirement: 'Requirement',
  grounds: 'Grounds',
  signed: 'Signed for the manufacturer',
  name: 'Name and function',
  placeAndDate: 'Place and date',
  signature: 'Signature',
  signedBy: (name: string, role: string) => `${name}, ${role}`,
  signedHere: 'signed in this program: the statement stands in the record of the lot',
  filledIn: (program: string, by: string, at: string, lotFile: string) =>
    `Filled in by ${program} for ${by}, ${at}, from the lot file ${lotFile}. The statement is made by whoever signs it. Keep it at least ten years, for implants fifteen (Annex XIII section 4).`,
};
