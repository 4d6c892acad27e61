// Part of `npm run lint`: what is generated has to be there for the type check.
import { ensureClient } from './ensure.mjs';

ensureClient();
