// The browser's database: one transaction at a time, strict, and questions to it. See store.js.

const NAME = "lastbolt-queue";
let opening;

function open() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => {
      const events = request.result.createObjectStore("events", { keyPath: "seq" });
      events.createIndex("state", ["state", "seq"]);
      events.createIndex("id", "id", { unique: true });
      request.result.createObjectStore("facts");
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  return opening;
}

/** Run `work(stores)` in one strict transaction; resolves only after it is complete. */
export async function strictly(work) {
  const database = await open();
  return new Promise((resolve, reject) => {
    const act = database.transaction(["events", "facts"], "readwrite", { durability: "strict" });
    let answer;
    act.oncomplete = () => resolve(answer);
    act.onerror = act.onabort = () => reject(act.error ?? new Error("the store gave up"));
    work({ events: act.objectStore("events"), facts: act.objectStore("facts") }, (value) => {
      answer = value;
    });
  });
}

/** One answer of one of the stores. */
export async function asked(name, question) {
  const database = await open();
  return new Promise((resolve, reject) => {
    const request = question(database.transaction(name).objectStore(name));
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}
