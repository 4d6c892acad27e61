import { removeTemporaryFolders } from './cell.js';

// Runs anew for each suite, though modules are loaded once.
afterAll(removeTemporaryFolders);
