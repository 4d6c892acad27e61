import 'reflect-metadata';
import { type INestApplicationContext, Module, type Type } from '@nestjs/common';
import { NestFactory } from '@nestjs/core';
import type { DataFolder } from '../store/data-folder.js';
import { Store } from '../store/store.js';
import { StoreModule } from '../store/store.module.js';

@Module({})
class Features {}

/** Starts the store and some features over a data folder or its path, does the work with them, and closes both. */
export async function withFeatures<T>(
  folder: DataFolder | string,
  modules: readonly Type[],
  work: (context: INestApplicationContext, store: Store) => Promise<T>,
): Promise<T> {
  const context = await NestFactory.createApplicationContext(
    { module: Features, imports: [StoreModule.over(folder), ...modules] },
    { logger: false, abortOnError: false },
  );
  const store = context.get(Store);
  try {
    return await work(context, store);
  } finally {
    await context.close();
    await store.close();
  }
}
