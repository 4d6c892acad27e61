import { type DynamicModule, Module } from '@nestjs/common';
import { CalculatorModule } from './calculator/calculator.module.js';
import { CustodyModule } from './custody/custody.module.js';
import { DesignPagesModule } from './design-file/design-pages.module.js';
import { DeskModule } from './desk/desk.module.js';
import { EntryModule } from './entry/entry.module.js';
import { IntakePagesModule } from './intake/intake-pages.module.js';
import { LotsPagesModule } from './lots/lots-pages.module.js';
import { AccessModule } from './people/access.module.js';
import { PeopleModule } from './people/people.module.js';
import { PreparePagesModule } from './prepare/prepare-pages.module.js';
import { RecordsPagesModule } from './records/records-pages.module.js';
import { SheetsModule } from './sheets/sheets.module.js';
import { SigningModule } from './signing/signing.module.js';
import type { DataFolder } from './store/data-folder.js';
import type { Store } from './store/store.js';
import { StoreModule } from './store/store.module.js';
import { TracePagesModule } from './trace/trace-pages.module.js';
import { TrendPagesModule } from './trend/trend-pages.module.js';
import { NowhereModule } from './web/nowhere.module.js';

/** Every feature, each a module of its own. */
@Module({
  imports: [
    IntakePagesModule,
    EntryModule,
    SheetsModule,
    PreparePagesModule,
    PeopleModule,
    LotsPagesModule,
    SigningModule,
    RecordsPagesModule,
    DesignPagesModule,
    DeskModule,
    TracePagesModule,
    TrendPagesModule,
    CustodyModule,
    CalculatorModule,
    AccessModule,
    NowhereModule,
  ],
})
export class AppModule {
  /** All of it over a data folder, its path, or a store that is open already. */
  static over(source: Store | DataFolder | string): DynamicModule {
    return { module: AppModule, imports: [StoreModule.over(source)] };
  }
}
