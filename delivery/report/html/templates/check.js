"use strict";
(() => {
  // The package this sheet lies in, checked by whoever received it: every checksum, and the seal. Nothing leaves the page.
  const section = document.getElementById("package");
  const chooser = section.querySelector("input[type=file]");
  const keyField = section.querySelector("textarea");
  const area = section.querySelector(".drop");
  const state = section.querySelector("[role=status]");
  const list = section.querySelector("ul");
  const MANIFEST = "manifest-sha256.txt", TAG_MANIFEST = "tagmanifest-sha256.txt", SEAL = `${TAG_MANIFEST}.sig`;
  const LEFT_BY_SYSTEMS = /(^|\/)(\.DS_Store|Thumbs\.db|ehthumbs\.db|desktop\.ini|\._[^/]*|__MACOSX)(\/|$)/i;
  const NAMESPACE = "delivery-package", KIND = "ssh-ed25519";
  section.hidden = false;

  const hex = (buffer) => [...new Uint8Array(buffer)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  const sha256 = async (bytes) => hex(await crypto.subtle.digest("SHA-256", bytes));
  const decoded = (path) => path.replace(/%(25|0A|0D)/gi, (code) => decodeURIComponent(code)).normalize("NFC");

  const promisedBy = (text) => {
    const promised = new Map();
    for (const line of text.split(/\r\n|\n|\r/).filter(Boolean)) {
      const found = /^([0-9a-f]{64})[ \t]+(\S.*)$/i.exec(line);
      if (!found) throw new Error("a list of checksums with a line that is none");
      promised.set(decoded(found[2]), found[1].toLowerCase());
    }
    return promised;
  };

  // Files by path inside the package; the folder's own name in front is taken off.
  const inside = (pairs) => {
    const named = pairs.map(([path, file]) => [path.normalize("NFC"), file]);
    const root = named.map(([path]) => path).filter((path) => path.split("/").pop() === TAG_MANIFEST)
      .sort((one, other) => one.length - other.length)[0];
    if (root === undefined) throw new Error(`no ${TAG_MANIFEST}: choose the folder of the package, the one that holds it`);
    const start = root.slice(0, -TAG_MANIFEST.length);
    return new Map(named.filter(([path]) => path.startsWith(start)).map(([path, file]) => [path.slice(start.length), file]));
  };

  const say = (text) => { state.textContent = text; };
  const note = (text, wrong) => {
    const item = document.createElement("li");
    item.textContent = text;
    if (wrong) item.className = "wrong";
    list.append(item);
  };

  // OpenSSH's signature format (PROTOCOL.sshsig, version 1): lengths of four bytes, then the bytes.
  const strings = (bytes) => {
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength), found = [];
    for (let at = 0; at < bytes.length;) {
      const size = view.getUint32(at);
      if (at + 4 + size > bytes.length) throw new Error("cut short");
      found.push(bytes.slice(at + 4, at + 4 + size));
      at += 4 + size;
    }
    return found;
  };
  const text = (bytes) => new TextDecoder().decode(bytes);
  const string = (bytes) => {
    const made = new Uint8Array(4 + bytes.length);
    new DataView(made.buffer).setUint32(0, bytes.length);
    made.set(bytes, 4);
    return made;
  };
  const joined = (...pieces) => new Uint8Array(pieces.flatMap((piece) => [...piece]));
  const from64 = (words) => Uint8Array.from(atob(words.replace(/\s+/g, "")), (sign) => sign.charCodeAt(0));

  const parsedSeal = (armoured) => {
    const body = from64(/-----BEGIN SSH SIGNATURE-----([^-]+)-----END SSH SIGNATURE-----/.exec(armoured)[1]);
    if (text(body.slice(0, 6)) !== "SSHSIG" || new DataView(body.buffer).getUint32(6) !== 1) throw new Error("not version 1");
    const [blob, namespace, , hash, signature] = strings(body.slice(10));
    const [kind, key] = strings(blob), [signedAs, raw] = strings(signature);
    if (text(kind) !== KIND || text(signedAs) !== KIND || text(namespace) !== NAMESPACE) throw new Error("for another purpose");
    return { blob, key, hash: text(hash), raw };
  };
  const knowsEd25519 = async () => {
    try { await crypto.subtle.importKey("raw", new Uint8Array(32), { name: "Ed25519" }, false, ["verify"]); return true; }
    catch (fault) { return fault.name !== "NotSupportedError"; }
  };
  const signerOf = async (armoured, message) => {
    const seal = parsedSeal(armoured);
    const utf8 = (word) => new TextEncoder().encode(word);
    const digest = await crypto.subtle.digest(seal.hash === "sha512" ? "SHA-512" : "SHA-256", message);
    const signed = joined(utf8("SSHSIG"), ...[utf8(NAMESPACE), utf8(""), utf8(seal.hash), new Uint8Array(digest)].map(string));
    const key = await crypto.subtle.importKey("raw", seal.key, { name: "Ed25519" }, false, ["verify"]);
    const holds = await crypto.subtle.verify({ name: "Ed25519" }, key, seal.raw, signed);
    const print = btoa(String.fromCharCode(...new Uint8Array(await crypto.subtle.digest("SHA-256", seal.blob))));
    return { holds, blob: seal.blob, fingerprint: `SHA256:${print.replace(/=+$/, "")}` };
  };

  const checkSeal = async (files, tagManifest) => {
    const wanted = new RegExp(`${KIND}\\s+([A-Za-z0-9+/=]+)`).exec(keyField.value);
    if (keyField.value.trim() && !wanted) note(`The key is no line that begins with ${KIND}: it was not used.`, true);
    const file = files.get(SEAL);
    if (!file) { note(wanted ? "No seal, where one was expected." : "No seal: changes on purpose cannot be told from this.", !!wanted); return !wanted; }
    if (!await knowsEd25519()) {
      note("There is a seal, but this browser cannot check it. Chromium can from version 137, Firefox from 129, Safari from 17.", false);
      return !wanted;
    }
    let found;
    try { found = await signerOf(await file.text(), tagManifest); }
    catch (fault) { note(`The seal cannot be read (${fault.message}).`, true); return false; }
    if (!found.holds) { note("The seal does not hold: the lists of checksums were changed after it was made.", true); return false; }
    const expected = wanted && hex(from64(wanted[1])) === hex(found.blob);
    if (wanted && !expected) { note(`Sealed by another key: ${found.fingerprint}.`, true); return false; }
    note(expected ? `Sealed by the key you gave: ${found.fingerprint}.` : `Sealed by ${found.fingerprint}. Is that the sender's key? Ask by telephone, or put the key in above.`, false);
    return true;
  };

  const checkFiles = async (files, promised, says) => {
    let right = 0, done = 0;
    for (const [path, expected] of promised) {
      say(`${says} ${++done} of ${promised.size}: ${path}`);
      const file = files.get(path);
      if (!file) { note(`missing: ${path}`, true); continue; }
      try {
        const found = await sha256(await file.arrayBuffer());  // one file at a time: the browser takes it whole
        if (found === expected) right += 1;
        else note(`changed: ${path}`, true);
      } catch { note(`not checked, too large for this browser or not readable: ${path}`, true); }
    }
    return right === promised.size;
  };

  const check = async (pairs) => {
    list.replaceChildren();
    try {
      const files = inside(pairs);
      const tagManifest = await files.get(TAG_MANIFEST).arrayBuffer();
      const tags = promisedBy(text(new Uint8Array(tagManifest)));
      if (!files.has(MANIFEST)) throw new Error(`no ${MANIFEST}`);
      if (!tags.has(MANIFEST)) throw new Error(`a ${TAG_MANIFEST} that does not name ${MANIFEST}`);
      const payload = promisedBy(await files.get(MANIFEST).text());
      let whole = await checkFiles(files, tags, "Checking list");
      whole = await checkFiles(files, payload, "Checking file") && whole;
      const own = new Set([TAG_MANIFEST, "tagmanifest-md5.txt", SEAL]);
      for (const path of files.keys()) {
        if (tags.has(path) || payload.has(path) || own.has(path) || LEFT_BY_SYSTEMS.test(path)) continue;
        note(`extra: ${path}`, true);
        whole = false;
      }
      whole = await checkSeal(files, tagManifest) && whole;
      const print = (await sha256(tagManifest)).slice(0, 24).match(/.{4}/g).join(" ");
      say(`${whole ? `Whole: ${payload.size} files are as they were packed.` : "Not as it was packed."} Fingerprint ${print}.`);
    } catch (fault) { say(`Nothing could be checked: found ${fault.message}.`); }
  };

  chooser.addEventListener("change", () => {
    check([...chooser.files].map((file) => [file.webkitRelativePath || file.name, file]));
  });
  const below = async (entry) => {
    if (entry.isFile) return [[entry.fullPath.slice(1), await new Promise((took, failed) => entry.file(took, failed))]];
    const reader = entry.createReader(), found = [];
    for (;;) {
      const some = await new Promise((took, failed) => reader.readEntries(took, failed));
      if (!some.length) return found;
      for (const one of some) found.push(...await below(one));
    }
  };
  area.addEventListener("dragover", (event) => event.preventDefault());
  area.addEventListener("drop", async (event) => {
    event.preventDefault();
    const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry()).filter(Boolean);
    say("Listing the files ...");
    const pairs = [];
    for (const entry of entries) pairs.push(...await below(entry));
    await check(pairs);
  });
})();
