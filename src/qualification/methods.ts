import { APPROVED, type Document, EFFECTIVE } from './names.js';

const method = (
  code: string,
  title: string,
  standard: string,
  destructive: boolean,
  operation: string,
  conditions?: string,
  duration?: Document,
): Document => ({
  kind: 'method',
  format: 1,
  method: code,
  revision: 1,
  title,
  standard,
  ...(conditions === undefined ? {} : { conditions }),
  ...(duration === undefined ? {} : { duration }),
  destructive: destructive ? 'destructive' : 'non-destructive',
  operation,
  effectiveFrom: EFFECTIVE,
  approval: APPROVED,
});

export const methods: Record<string, Document> = {
  'methods/TM-RM.yaml': method('TM-RM', 'Tensile test on a flat coupon', 'ISO 6892-1', true, 'tensile test'),
  'methods/TM-DEG.yaml': method(
    'TM-DEG',
    'Immersion, 14 days, mass loss',
    'ASTM G31, ASTM G1, ASTM F3268',
    true,
    'mass loss',
    'buffered medium, 37 °C, 25 mL/cm², static, as machined and peened',
    { hours: '336', within: '4' },
  ),
  'methods/TM-THK.yaml': method('TM-THK', 'Plate thickness at five places', 'in-house', false, 'dimensions'),
  'methods/TM-POR.yaml': method('TM-POR', 'Porosity by tomography', 'ASTM E1570', false, 'tomography', 'voxel 12 µm'),
  'methods/TM-SA.yaml': method('TM-SA', 'Areal roughness Sa', 'ISO 25178', false, 'roughness'),
  'methods/TM-RS.yaml': method('TM-RS', 'Surface residual stress', 'EN 15305', false, 'residual stress'),
};
