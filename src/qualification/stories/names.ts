/** Names that the documents of the coated plates share: a second family, in a second cell, with laws and routes. */
export const COATED_FAMILY = 'COATED-PLATE';
export const COATED_SPECIFICATION = { specification: 'CP-SPEC', revision: 1 };
export const COATED_RECIPE = { recipe: 'CP-RECIPE', revision: 1 };
export const COATED_GROUP = 'coated-plates';
export const COATED_VALIDATION = { validation: 'PV-2', revision: 1 };
export const COATED_STUDY = { study: 'EQ-4', revision: 1 };
export const COATED_ENVELOPE = { envelope: 'CP-ENV', revision: 1 };
export const DESIGN_PROGRAM = { software: 'PLATE-PLANNER', revision: 1 };
export const PATH_PROGRAM = { software: 'PATHS', revision: 1 };
export const PATH_VERSION = '5.0';
export const SECOND_MACHINE = 'HC-2';
/** As the law US counts custom-made devices. */
export const DEVICE_TYPE = 'coated-plate';
export const DRY_STORE = 'DS-1';
export const COATER = 'VERNIX';
export const STERILISER = 'GAMMAPORT';
/** Before anything was built by them. */
export const COATED_FROM = '2026-09-01T00:00:00Z';
export const SEALER = 'PK-1';
