/** Why a record is sealed, as the seal itself says it. */
export const SEAL_REASON = 'Seals the file as issued; it is no signature of a person';
