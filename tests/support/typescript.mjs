// Lets a child process of a test run the sources as they are: node --import ./tests/support/typescript.mjs FILE
import { register } from 'node:module';

register('./typescript-hooks.mjs', import.meta.url);
