import { Injectable } from '@nestjs/common';
import { timeText } from '../../dossier/time-text.js';
import type { Event, RecordedEvent } from '../../ledger/event.js';
import { Accounts } from '../../people/accounts.js';
import { TODAY } from '../../report/phrases/today.js';
import { Store } from '../../store/store.js';
import type { Duty } from './duty.js';

/** What whoever keeps the installation looks after: backups, checks of all evidence, accounts. */
@Injectable()
export class CustodyDuties {
  constructor(
    private readonly store: Store,
    private readonly accounts: Accounts,
  ) {}

  async of(person: string): Promise<Duty[]> {
    const events = await this.store.read.events.ofTypes(['integrity-checked', 'backup-made']);
    const backup = lastOf(events, 'backup-made');
    const integrity = lastOf(events, 'integrity-checked');
    const faults = integrity?.event.faults ?? [];
    return [
      ...faults.map(({ what, name, says }) => duty(TODAY.fault(what, name.slice(0, 12), says))),
      duty(backup === null ? TODAY.noBackup : TODAY.lastBackup(backup.at)),
      duty(
        integrity === null
          ? TODAY.noIntegrity
          : TODAY.integrity(integrity.at, integrity.event.files, integrity.event.faultCount),
      ),
      ...[...(await this.accounts.people()).values()]
        .filter((account) => account.person !== person && account.closedAt === null && account.passwordSetAt === null)
        .map(({ person: code, name }) =>
          duty(TODAY.noPassword(name), { text: TODAY.seeAccount, href: `/people/${encodeURIComponent(code)}` }),
        ),
    ];
  }
}

const PROTECTION = { text: TODAY.seeProtection, href: '/protection' };

const duty = (what: string, button: Duty['button'] = PROTECTION): Duty => ({
  topic: 'installation',
  what,
  of: null,
  units: [],
  by: null,
  overdue: false,
  button,
});

/** When something was last done; null when never. */
function lastOf<T extends Event['type']>(events: readonly RecordedEvent[], type: T) {
  const last = events.findLast(({ event }) => event.type === type);
  return last ? { at: timeText(last.at), event: last.event as Extract<Event, { type: T }> } : null;
}
