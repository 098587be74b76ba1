// The browser's database: one transaction at a time, strict, and questions to it. See store.js.

const NAME = "lastbolt-queue";
let opening;

function open() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 3);
    // What waits in the queue outlives each step: a step only adds.
    request.onupgradeneeded = ({ oldVersion }) => {
      if (oldVersion < 1) {
        const events = request.result.createObjectStore("events", { keyPath: "seq" });
        events.createIndex("state", ["state", "seq"]);
        events.createIndex("id", "id", { unique: true });
        request.result.createObjectStore("facts");
      }
      if (oldVersion < 2) {
        request.result.createObjectStore("tables"); // see tables.js
        request.result.createObjectStore("looked", { keyPath: "id" }); // see outcomes.js
      }
      if (oldVersion < 3) {
        const beside = request.result.createObjectStore("enclosures", { keyPath: "id" });
        beside.createIndex("state", "state"); // see enclosures.js
      }
    };
    request.onsuccess = () => {
      // A window of another version must not wait for this one.
      request.result.onversionchange = () => {
        request.result.close();
        opening = undefined;
      };
      resolve(request.result);
    };
    request.onerror = () => reject(request.error);
  });
  return opening;
}

/** Run `work(stores)` in one strict transaction; resolves only after it is complete. */
export async function strictly(work, names = ["events", "facts"]) {
  const database = await open();
  return new Promise((resolve, reject) => {
    const act = database.transaction(names, "readwrite", { durability: "strict" });
    let answer;
    act.oncomplete = () => resolve(answer);
    act.onerror = act.onabort = () => reject(act.error ?? new Error("the store gave up"));
    const stores = Object.fromEntries(names.map((name) => [name, act.objectStore(name)]));
    work(stores, (value) => {
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
