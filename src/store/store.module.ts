import { type DynamicModule, Global, Module } from '@nestjs/common';
import { DataFolder } from './data-folder.js';
import { Store } from './store.js';

/** The one store of a program, for every feature. Whoever starts the program closes it, after all that uses it. */
@Global()
@Module({})
export class StoreModule {
  /** @param source a data folder, its path, or a store that is open already. */
  static over(source: Store | DataFolder | string): DynamicModule {
    return {
      module: StoreModule,
      providers: [{ provide: Store, useFactory: () => openedFrom(source) }],
      exports: [Store],
    };
  }
}

async function openedFrom(source: Store | DataFolder | string): Promise<Store> {
  if (source instanceof Store) return source;
  return Store.open(typeof source === 'string' ? DataFolder.open(source) : source);
}
