//! A substitute SQLite VFS that does its work through the usual one and can refuse the n-th thing it is asked for,
//! run out of room, or lose what was not synced as a power cut does.
//!
//! It is made the default of this test program, so the book under test is the real one. What it is to refuse is
//! set per thread ([`arm`]); SQLite calls it on the thread that called SQLite.

#![allow(unsafe_code, reason = "SQLite takes a VFS as a table of C functions; this is the only way to stand under it")]

use rusqlite::ffi;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::ffi::{CStr, c_char, c_int, c_void};
use std::path::{Path, PathBuf};
use std::sync::Once;

/// What was asked for when it was refused.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Op {
    Open,
    Write,
    Truncate,
    Sync,
    Delete,
    Index,
    /// A step of the files beside the database.
    File,
}

/// What the disk does wrong.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Fault {
    /// The n-th thing fails, once.
    Once(u64),
    /// The n-th thing and all after it fail: the power is gone.
    Cut(u64),
    /// Files of the database may together have this many bytes.
    Room(u64),
}

#[derive(Clone, Debug)]
enum Change {
    Write(u64, Vec<u8>),
    Truncate(u64),
}

/// A file as the disk surely has it, and what was asked since.
#[derive(Clone, Debug, Default)]
struct Kept {
    synced: Option<Vec<u8>>,
    since: Vec<Change>,
    deleted: bool,
}

#[derive(Default)]
struct Control {
    fault: Option<Fault>,
    asked: u64,
    hit: Option<Op>,
    files: BTreeMap<PathBuf, Kept>,
}

thread_local! {
    static CONTROL: RefCell<Control> = RefCell::default();
}

/// Starts anew on this thread: counts from 0, refuses what `fault` says, forgets what files were.
pub(crate) fn arm(fault: Option<Fault>) {
    install();
    CONTROL.set(Control { fault, ..Control::default() });
}

/// Takes the files of a folder as they are: all on the disk.
pub(crate) fn follow(folder: &Path) {
    CONTROL.with_borrow_mut(|control| {
        for entry in std::fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("a file").path();
            let name = path.display().to_string();
            if [".book", "-wal", "-journal"].iter().any(|tail| name.ends_with(tail)) {
                let kept = Kept { synced: std::fs::read(&path).ok(), ..Kept::default() };
                control.files.insert(path, kept);
            }
        }
    });
}

/// Ends refusing, and says what was refused first and how many things were asked for.
pub(crate) fn disarm() -> (Option<Op>, u64) {
    CONTROL.with_borrow_mut(|control| {
        control.fault = None;
        (control.hit, control.asked)
    })
}

/// True when the thing that is asked for now is to be refused.
pub(crate) fn refuses(op: Op) -> bool {
    CONTROL.with_borrow_mut(|control| {
        let n = control.asked;
        control.asked += 1;
        let no = match control.fault {
            Some(Fault::Once(at)) => n == at,
            Some(Fault::Cut(at)) => n >= at,
            Some(Fault::Room(_)) | None => false,
        };
        if no {
            control.hit.get_or_insert(op);
        }
        no
    })
}

/// Puts into `folder` what the disk may have after a power cut: of everything that was not synced, what `keep` says of
/// its number. Deleting a file is one such thing.
pub(crate) fn after_cut(folder: &Path, mut keep: impl FnMut(usize) -> bool) {
    CONTROL.with_borrow(|control| {
        let mut n = 0;
        let mut asked = || {
            n += 1;
            keep(n)
        };
        for (path, kept) in &control.files {
            if kept.deleted && asked() {
                continue;
            }
            let mut bytes = kept.synced.clone();
            for change in &kept.since {
                if asked() {
                    apply(bytes.get_or_insert_default(), change);
                }
            }
            if let Some(bytes) = bytes {
                let name = path.file_name().expect("a file has a name");
                std::fs::write(folder.join(name), bytes).expect("written");
            }
        }
    });
}

fn apply(bytes: &mut Vec<u8>, change: &Change) {
    match change {
        Change::Write(at, new) => {
            let at = usize::try_from(*at).expect("small");
            if bytes.len() < at + new.len() {
                bytes.resize(at + new.len(), 0);
            }
            bytes[at..at + new.len()].copy_from_slice(new);
        }
        Change::Truncate(length) => bytes.resize(usize::try_from(*length).expect("small"), 0),
    }
}

/// How much of `length` bytes at `at` still fits when there is only so much room.
fn fits(path: &Path, at: u64, length: u64) -> u64 {
    CONTROL.with_borrow(|control| {
        let Some(Fault::Room(room)) = control.fault else { return length };
        let size = |path: &Path| std::fs::metadata(path).map_or(0, |there| there.len());
        let others: u64 = control.files.keys().filter(|other| *other != path).map(|other| size(other)).sum();
        // Room that the book gives up is room.
        let reserve = control.files.keys().next().map_or(0, |any| {
            let name = any.display().to_string();
            let book = name.strip_suffix("-wal").unwrap_or(&name);
            size(Path::new(&format!("{book}.reserve")))
        });
        let free_to = (room.saturating_sub(others + reserve)).max(size(path));
        free_to.saturating_sub(at).min(length)
    })
}

/// The head of a file of ours; the usual VFS's file comes right after it.
#[repr(C)]
struct Shim {
    base: ffi::sqlite3_file,
    /// Which file it is, when its content is followed.
    path: *mut PathBuf,
    /// A log that was made just now: its first sync also syncs the folder, as the usual VFS does for such files
    /// (`UNIXFILE_DIRSYNC` in SQLite's os_unix.c). Deletions before it are then sure.
    syncs_folder: bool,
}

static INSTALL: Once = Once::new();
static mut USUAL: *mut ffi::sqlite3_vfs = std::ptr::null_mut();

fn install() {
    INSTALL.call_once(|| {
        // SAFETY: the VFS found is a static one of SQLite; ours is leaked, so that both live as long as the program.
        // `USUAL` is written once, before any file is opened through ours.
        unsafe {
            let usual = ffi::sqlite3_vfs_find(std::ptr::null());
            USUAL = usual;
            let mut ours: ffi::sqlite3_vfs = std::ptr::read(usual);
            ours.zName = c"faults".as_ptr();
            ours.pNext = std::ptr::null_mut();
            ours.szOsFile += c_int::try_from(size_of::<Shim>()).expect("small");
            ours.xOpen = Some(open);
            ours.xDelete = Some(delete);
            let ours = Box::leak(Box::new(ours));
            assert_eq!(ffi::sqlite3_vfs_register(ours, 1), ffi::SQLITE_OK);
        }
    });
}

/// The usual VFS's file behind ours.
unsafe fn real(file: *mut ffi::sqlite3_file) -> *mut ffi::sqlite3_file {
    unsafe { file.cast::<Shim>().add(1).cast() }
}

macro_rules! call {
    ($file:expr, $method:ident $(, $argument:expr)*) => {{
        let real = unsafe { real($file) };
        let method = unsafe { (*(*real).pMethods).$method }.expect("the usual VFS has every method");
        unsafe { method(real $(, $argument)*) }
    }};
}

unsafe fn path_of<'a>(file: *mut ffi::sqlite3_file) -> Option<&'a PathBuf> {
    unsafe { (*file.cast::<Shim>()).path.as_ref() }
}

fn kept<T>(path: &Path, work: impl FnOnce(&mut Kept) -> T) -> T {
    CONTROL.with_borrow_mut(|control| {
        // A file that was there before this thread was armed is on the disk as it is.
        let kept = control
            .files
            .entry(path.to_owned())
            .or_insert_with(|| Kept { synced: std::fs::read(path).ok(), ..Kept::default() });
        work(kept)
    })
}

unsafe extern "C" fn open(
    _: *mut ffi::sqlite3_vfs,
    name: *const c_char,
    file: *mut ffi::sqlite3_file,
    flags: c_int,
    out: *mut c_int,
) -> c_int {
    unsafe {
        let shim = file.cast::<Shim>();
        (*shim).base.pMethods = std::ptr::null();
        (*shim).path = std::ptr::null_mut();
        (*shim).syncs_folder = false;
        if refuses(Op::Open) {
            return ffi::SQLITE_CANTOPEN;
        }
        if !name.is_null() {
            let path = PathBuf::from(CStr::from_ptr(name).to_str().expect("test paths are UTF-8"));
            let logs = ffi::SQLITE_OPEN_WAL | ffi::SQLITE_OPEN_MAIN_JOURNAL;
            (*shim).syncs_folder = flags & logs != 0 && !path.exists();
            kept(&path, |kept| {
                if kept.deleted {
                    *kept = Kept::default();
                }
            });
            (*shim).path = Box::into_raw(Box::new(path));
        }
        let code = ((*USUAL).xOpen.expect("a VFS opens"))(USUAL, name, real(file), flags, out);
        if (*real(file)).pMethods.is_null() {
            if !(*shim).path.is_null() {
                drop(Box::from_raw((*shim).path));
            }
        } else {
            (*shim).base.pMethods = &raw const METHODS;
        }
        code
    }
}

unsafe extern "C" fn delete(_: *mut ffi::sqlite3_vfs, name: *const c_char, sync: c_int) -> c_int {
    if refuses(Op::Delete) {
        return ffi::SQLITE_IOERR_DELETE;
    }
    unsafe {
        let code = ((*USUAL).xDelete.expect("a VFS deletes"))(USUAL, name, sync);
        let path = PathBuf::from(CStr::from_ptr(name).to_str().expect("test paths are UTF-8"));
        if code == ffi::SQLITE_OK {
            kept(&path, |kept| kept.deleted = true);
        }
        code
    }
}

unsafe extern "C" fn close(file: *mut ffi::sqlite3_file) -> c_int {
    let code = call!(file, xClose);
    unsafe {
        let path = (*file.cast::<Shim>()).path;
        if !path.is_null() {
            drop(Box::from_raw(path));
        }
    }
    code
}

unsafe extern "C" fn read(file: *mut ffi::sqlite3_file, to: *mut c_void, length: c_int, at: i64) -> c_int {
    call!(file, xRead, to, length, at)
}

unsafe extern "C" fn write(file: *mut ffi::sqlite3_file, from: *const c_void, length: c_int, at: i64) -> c_int {
    let Some(path) = (unsafe { path_of(file) }) else { return call!(file, xWrite, from, length, at) };
    let start = u64::try_from(at).expect("not negative");
    let whole = u64::try_from(length).expect("not negative");
    // Of a write that fails, a part is done: the first half, or what there is room for.
    let (part, code) = if refuses(Op::Write) {
        (whole / 2, ffi::SQLITE_IOERR_WRITE)
    } else {
        let part = fits(path, start, whole);
        (part, if part < whole { ffi::SQLITE_FULL } else { ffi::SQLITE_OK })
    };
    let done = c_int::try_from(part).expect("at most the length");
    if done > 0 {
        let code = call!(file, xWrite, from, done, at);
        if code != ffi::SQLITE_OK {
            return code;
        }
        // SAFETY: SQLite hands over `length` readable bytes, and `done` is at most that.
        let bytes = unsafe { std::slice::from_raw_parts(from.cast::<u8>(), usize::try_from(done).expect("positive")) };
        kept(path, |kept| kept.since.push(Change::Write(start, bytes.to_vec())));
    }
    if code == ffi::SQLITE_FULL {
        CONTROL.with_borrow_mut(|control| *control.hit.get_or_insert(Op::Write));
    }
    code
}

unsafe extern "C" fn truncate(file: *mut ffi::sqlite3_file, length: i64) -> c_int {
    if refuses(Op::Truncate) {
        return ffi::SQLITE_IOERR_TRUNCATE;
    }
    let code = call!(file, xTruncate, length);
    if let Some(path) = unsafe { path_of(file) } {
        kept(path, |kept| kept.since.push(Change::Truncate(u64::try_from(length).expect("not negative"))));
    }
    code
}

unsafe extern "C" fn sync(file: *mut ffi::sqlite3_file, _: c_int) -> c_int {
    if refuses(Op::Sync) {
        return ffi::SQLITE_IOERR_FSYNC;
    }
    // The machine itself does not lose power here, so the real sync can be left out: what is followed counts.
    if let Some(path) = unsafe { path_of(file) } {
        kept(path, |kept| {
            let bytes = kept.synced.get_or_insert_default();
            for change in kept.since.drain(..) {
                apply(bytes, &change);
            }
        });
    }
    if unsafe { std::mem::take(&mut (*file.cast::<Shim>()).syncs_folder) } {
        CONTROL.with_borrow_mut(|control| control.files.retain(|_, kept| !kept.deleted));
    }
    ffi::SQLITE_OK
}

unsafe extern "C" fn file_size(file: *mut ffi::sqlite3_file, size: *mut i64) -> c_int {
    call!(file, xFileSize, size)
}

unsafe extern "C" fn lock(file: *mut ffi::sqlite3_file, level: c_int) -> c_int {
    call!(file, xLock, level)
}

unsafe extern "C" fn unlock(file: *mut ffi::sqlite3_file, level: c_int) -> c_int {
    call!(file, xUnlock, level)
}

unsafe extern "C" fn check_reserved_lock(file: *mut ffi::sqlite3_file, out: *mut c_int) -> c_int {
    call!(file, xCheckReservedLock, out)
}

unsafe extern "C" fn file_control(file: *mut ffi::sqlite3_file, op: c_int, argument: *mut c_void) -> c_int {
    call!(file, xFileControl, op, argument)
}

unsafe extern "C" fn sector_size(file: *mut ffi::sqlite3_file) -> c_int {
    call!(file, xSectorSize)
}

unsafe extern "C" fn device_characteristics(file: *mut ffi::sqlite3_file) -> c_int {
    call!(file, xDeviceCharacteristics)
}

unsafe extern "C" fn shm_map(
    file: *mut ffi::sqlite3_file,
    page: c_int,
    size: c_int,
    extend: c_int,
    out: *mut *mut c_void,
) -> c_int {
    if extend != 0 && refuses(Op::Index) {
        return ffi::SQLITE_IOERR_SHMSIZE;
    }
    call!(file, xShmMap, page, size, extend, out)
}

unsafe extern "C" fn shm_lock(file: *mut ffi::sqlite3_file, offset: c_int, n: c_int, flags: c_int) -> c_int {
    call!(file, xShmLock, offset, n, flags)
}

unsafe extern "C" fn shm_barrier(file: *mut ffi::sqlite3_file) {
    call!(file, xShmBarrier);
}

unsafe extern "C" fn shm_unmap(file: *mut ffi::sqlite3_file, delete: c_int) -> c_int {
    call!(file, xShmUnmap, delete)
}

static METHODS: ffi::sqlite3_io_methods = ffi::sqlite3_io_methods {
    // Version 2: with a shared index, without memory-mapped reading, so that every write passes here.
    iVersion: 2,
    xClose: Some(close),
    xRead: Some(read),
    xWrite: Some(write),
    xTruncate: Some(truncate),
    xSync: Some(sync),
    xFileSize: Some(file_size),
    xLock: Some(lock),
    xUnlock: Some(unlock),
    xCheckReservedLock: Some(check_reserved_lock),
    xFileControl: Some(file_control),
    xSectorSize: Some(sector_size),
    xDeviceCharacteristics: Some(device_characteristics),
    xShmMap: Some(shm_map),
    xShmLock: Some(shm_lock),
    xShmBarrier: Some(shm_barrier),
    xShmUnmap: Some(shm_unmap),
    xFetch: None,
    xUnfetch: None,
};
