/*
 * Three-way merge of recipes: what I changed since the version I began with is put onto what
 * somebody else saved meanwhile. Nothing here talks to the server.
 */

const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);
const isPlain = (value) => value !== null && typeof value === "object" && !Array.isArray(value);

/** Return { document, both }: the merged document, and the fields that both sides changed. */
export function merge(base, mine, theirs) {
  const both = [];
  const document = mergeField("", base ?? {}, mine ?? {}, theirs ?? {}, both);
  return { document, both };
}

function mergeField(where, base, mine, theirs, both) {
  if (same(mine, base)) return theirs;
  if (same(theirs, base) || same(mine, theirs)) return mine;
  if ([base ?? {}, mine, theirs].every(isPlain)) return mergeObjects(where, base ?? {}, mine, theirs, both);
  if ([base ?? [], mine ?? [], theirs ?? []].every(Array.isArray)) {
    return mergeLists(base ?? [], mine ?? [], theirs ?? []);
  }
  both.push(where);
  return mine;
}

function mergeObjects(where, base, mine, theirs, both) {
  const merged = {};
  for (const key of new Set([...Object.keys(base), ...Object.keys(mine), ...Object.keys(theirs)])) {
    const inner = where ? `${where}.${key}` : key;
    const value = mergeField(inner, base[key], mine[key], theirs[key], both);
    if (value !== undefined) merged[key] = value;
  }
  return merged;
}

/** Entries that I took out go, entries that I put in come, the rest is theirs. */
function mergeLists(base, mine, theirs) {
  const has = (list, one) => list.some((other) => same(one, other));
  const kept = theirs.filter((one) => has(mine, one) || !has(base, one));
  const added = mine.filter((one) => !has(base, one) && !has(theirs, one));
  return [...kept, ...added];
}
