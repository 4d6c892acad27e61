import { Injectable } from '@nestjs/common';
import { certificateTrend, LEAST_DELIVERIES, type SupplierTrend } from '../assessment/family/certificate-trend.js';
import { NotFoundError } from '../base/errors.js';
import { supplierFigure } from '../report/certificate-figure.js';
import { figureView } from '../report/figure-view.js';
import { certificatesAddress, findAddress } from '../report/page-addresses.js';
import { CERTIFICATES, supplierText } from '../report/phrases/certificates.js';
import { bodyOf } from '../store/bodies.js';
import { Remembered, revisionsOf } from '../store/remembered.js';
import type { Reads } from '../store/repositories.js';
import { Store } from '../store/store.js';

/** What certificates say of materials, delivery by delivery, so that a drift shows before the implants do. */
@Injectable()
export class CertificatesPage {
  /** Every receipt is read for it, and again only when one came in. */
  private readonly named = new Remembered(revisionsOf('receipt'), (read) => materialsIn(read));

  constructor(private readonly store: Store) {}

  /** Materials with the properties that certificates name. */
  materials() {
    return this.named.of(this.store.read);
  }

  /** @throws NotFoundError when no certificate of the material names the property. */
  async trend(material: string, property: string) {
    // Those that hold its name in whatever field are read, and no others.
    const holding = await this.store.read.identified.holding(['receipt'], material);
    const own = holding
      .map(({ digest, text }) => bodyOf('receipt', digest, text))
      .filter((receipt) => receipt.material === material);
    const trend = certificateTrend(own, property);
    if (trend === undefined) throw new NotFoundError(`certificate of ${material} with`, property);
    return { material, property, ...trend };
  }

  async view(material: string, property: string) {
    const { suppliers, ucum, compared, otherUnits } = await this.trend(material, property);
    const reaching = suppliers.flatMap(({ points }) => points.map(({ value }) => value));
    return {
      ...{ material, property, ucum, otherUnits: CERTIFICATES.otherUnits(otherUnits) },
      suppliers: suppliers.map((one: SupplierTrend, index) => ({
        supplier: one.supplier,
        says: supplierText(one, ucum, { compared, least: LEAST_DELIVERIES }),
        isSeen: one.drift?.isSeen ?? false,
        figure: figureView(
          supplierFigure(one, property, ucum, reaching),
          CERTIFICATES.chart(property, one.supplier),
          `certificates-${index}`,
        ),
        rows: one.points
          .toReversed()
          .map((point) => ({ ...point, day: point.receivedAt.slice(0, 10), to: findAddress(point.receipt) })),
      })),
    };
  }
}

async function materialsIn(read: Reads) {
  const found = new Map<string, Map<string, number>>();
  for (const { body } of await read.entries.list('receipt')) {
    const { material, certificate } = body;
    const properties = found.get(material) ?? new Map<string, number>();
    found.set(material, properties);
    for (const { property } of certificate?.lines ?? []) properties.set(property, (properties.get(property) ?? 0) + 1);
  }
  return [...found]
    .filter(([, properties]) => properties.size > 0)
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([material, properties]) => ({
      material,
      properties: [...properties].map(([property, deliveries]) => ({
        ...{ property, deliveries, to: certificatesAddress(material, property) },
      })),
    }));
}
