// The journal's files in the origin's private file system, so that SQLite writes to the real thing and a flush is a flush.
// Three files are opened once and held for the life of the worker; whatever else SQLite asks for (the shared-memory index
// of its log) stays in memory, as it may: it is made anew from the log.
const NAMES = ["journal.sqlite", "journal.sqlite-wal", "journal.sqlite-journal"];
const ENOSPC = 51, EIO = 29;

// The handles; waits for the tab before, which may still be letting go of them. Throws when the browser gives none.
export async function openHandles() {
  const root = await navigator.storage.getDirectory();
  const folder = await root.getDirectoryHandle("journal", { create: true });
  const handles = {};
  for (const name of NAMES) {
    const file = await folder.getFileHandle(name, { create: true });
    for (let tries = 0; !handles[name]; tries += 1) {
      try { handles[name] = await file.createSyncAccessHandle(); } catch (error) {
        if (tries === 100 || error.name !== "NoModificationAllowedError") throw error;
        await new Promise((done) => setTimeout(done, 50));
      }
    }
  }
  return handles;
}

// What the disk refuses, in the number that SQLite takes for "full" or for "cannot be written".
function or(FS, does) {
  try { return does(); } catch (error) {
    throw new FS.ErrnoError(error.name === "QuotaExceededError" || error.name === "NoSpaceError" ? ENOSPC : EIO);
  }
}

export function mount(FS, handles, at = "/journal") {
  const MEMFS = FS.filesystems.MEMFS;
  FS.mkdirTree(at);
  FS.mount(MEMFS, {}, at);
  const folder = FS.lookupPath(at).node, plain = folder.node_ops;
  const onDisk = (node, handle) => {
    node.node_ops = {
      ...node.node_ops,
      getattr: (n) => ({ ...MEMFS.node_ops.getattr(n), size: handle.getSize(), blocks: Math.ceil(handle.getSize() / 4096) }),
      setattr: (n, attr) => { if (attr.size !== undefined) or(FS, () => handle.truncate(attr.size)); },
    };
    node.stream_ops = {
      llseek: (stream, offset, whence) => offset + (whence === 1 ? stream.position : whence === 2 ? handle.getSize() : 0),
      read: (stream, buffer, offset, length, position) => or(FS, () => handle.read(buffer.subarray(offset, offset + length), { at: position })),
      write: (stream, buffer, offset, length, position) => {
        const kept = or(FS, () => handle.write(buffer.subarray(offset, offset + length), { at: position }));
        if (kept < length) throw new FS.ErrnoError(ENOSPC);
        return kept;
      },
      fsync: () => or(FS, () => { handle.flush(); return 0; }),
    };
    return node;
  };
  folder.node_ops = {
    ...plain,
    mknod: (parent, name, mode, dev) => {
      const node = plain.mknod(parent, name, mode, dev);
      return handles[name] ? onDisk(node, handles[name]) : node;
    },
    unlink: (parent, name) => {
      if (handles[name]) or(FS, () => { handles[name].truncate(0); handles[name].flush(); });
      return plain.unlink(parent, name);
    },
  };
  // A file of no length is one that was never begun, or was taken away.
  for (const name of NAMES) if (handles[name].getSize()) FS.mknod(`${at}/${name}`, 0o100666, 0);
}
