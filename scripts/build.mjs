// usage: npm run build
import { ensureBuilt } from './ensure.mjs';

ensureBuilt();
