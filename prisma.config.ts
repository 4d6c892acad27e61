import { defineConfig } from 'prisma-cli/config';

// `prisma generate` never runs the schema engine, but looks for it and would download it.
process.env.PRISMA_SCHEMA_ENGINE_BINARY ??= process.execPath;

export default defineConfig({ schema: 'prisma/schema.prisma' });
