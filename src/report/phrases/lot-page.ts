import { kindText } from './kinds.js';

/** Words of the page of a lot that no section of the record has too. */
export const LOT_PAGE = {
  closed: 'Nothing is left to decide: every implant is released or rejected, used up or kept back.',
  place: (anatomicalSite: string, side: string) => `${anatomicalSite}, ${side}`,
  openUntil: (says: string, until: string) => `${says}; open until ${until}`,
  input: (name: string, massG: string | number) => `${name} ${massG} g`,
  zones: 'Implants by zone and layer',
  range: (from: number, to: number) => `${from} to ${to}`,
  subject: (kind: string, key: string) => `${kindText(kind)} ${key}`,
};
