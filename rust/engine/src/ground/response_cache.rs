//! Step responses stored on disk for later runs of the same field.

use std::fs;
use std::hash::Hasher;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use fnv::FnvHasher;
use tempfile::NamedTempFile;

use super::{LaplaceCurve, Shape};
use crate::cancel_token::CancelToken;
use crate::error::Error;

/// Version that wrote a file: other versions may solve the field differently.
const HEADER: &str = concat!("loopdrift ", env!("CARGO_PKG_VERSION"), " step response\n");

const WORD: usize = size_of::<u64>();

/// A folder with one file per shape of field.
///
/// Files are written atomically, so any number of processes may use the folder at once and any of them may end at any
/// time. A file contains the whole key of its shape and a checksum: if it is damaged or belongs to another shape, the
/// response is computed again.
#[derive(Debug)]
pub struct ResponseCache {
    folder: PathBuf,
}

impl ResponseCache {
    /// The responses stored in `folder`, which is created if needed.
    ///
    /// # Errors
    /// [`Error::Io`] if it can't be created.
    pub fn new(folder: PathBuf) -> Result<Self, Error> {
        fs::create_dir_all(&folder).map_err(|source| Error::Io { path: folder.clone(), source })?;
        Ok(Self { folder })
    }

    /// The step response of a shape, bit for bit as from [`Shape::response`]: read, or computed and stored.
    ///
    /// # Errors
    /// [`Error::Io`] if a file can't be read or written; otherwise those of [`Shape::response`].
    pub fn response(&self, shape: &Shape, token: &CancelToken) -> Result<LaplaceCurve, Error> {
        let head = head(&shape.key());
        let path = self.folder.join(format!("{:016x}.response", checksum(&head)));
        if let Some(curve) = read(&path)?.as_deref().and_then(|content| curve_after(&head, content)) {
            return Ok(curve);
        }
        let curve = shape.response(token)?;
        let mut content = head;
        content.extend(curve.to_numbers().into_iter().flat_map(f64::to_le_bytes));
        content.extend(checksum(&content).to_le_bytes());
        self.write(&path, &content).map_err(|source| Error::Io { path, source })?;
        Ok(curve)
    }

    /// Writes a file under a temporary name, then renames it.
    fn write(&self, path: &Path, content: &[u8]) -> std::io::Result<()> {
        let mut unfinished = self.new_file()?;
        unfinished.write_all(content)?;
        unfinished.persist(path)?;
        Ok(())
    }

    /// An empty file with the usual permissions, readable by every user of the folder.
    fn new_file(&self) -> std::io::Result<NamedTempFile> {
        let mut builder = tempfile::Builder::new();
        #[cfg(unix)]
        builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
        builder.tempfile_in(&self.folder)
    }
}

/// The header of a shape's file.
fn head(key: &[u64]) -> Vec<u8> {
    HEADER.bytes().chain(key.iter().flat_map(|word| word.to_le_bytes())).collect()
}

/// The contents of a file; `None` if it doesn't exist.
fn read(path: &Path) -> Result<Option<Vec<u8>>, Error> {
    match fs::read(path) {
        Ok(content) => Ok(Some(content)),
        Err(source) if source.kind() == ErrorKind::NotFound => Ok(None),
        Err(source) => Err(Error::Io { path: path.to_owned(), source }),
    }
}

/// The curve in a file that begins with `head`; `None` for any other or a damaged file.
fn curve_after(head: &[u8], content: &[u8]) -> Option<LaplaceCurve> {
    let (body, sum) = content.split_last_chunk::<WORD>()?;
    let (words, rest) = body.strip_prefix(head)?.as_chunks::<WORD>();
    if u64::from_le_bytes(*sum) != checksum(body) || !rest.is_empty() {
        return None;
    }
    LaplaceCurve::from_numbers(&words.iter().map(|word| f64::from_le_bytes(*word)).collect::<Vec<_>>())
}

/// FNV-1a (Fowler, Noll & Vo), the same on every machine.
fn checksum(bytes: &[u8]) -> u64 {
    let mut hasher = FnvHasher::default();
    hasher.write(bytes);
    hasher.finish()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ground::{Ground, LineSource};

    const TIMES: std::ops::RangeInclusive<f64> = 3600.0..=8760.0 * 3600.0;

    fn shape(spacing: f64) -> Shape {
        let ground = Ground {
            conductivity: 2.1,
            volumetric_heat_capacity: 2.3e6,
            temperature: 11.0,
            gradient: 0.0,
            darcy_flux: 0.0,
            flow_direction: 0.0,
            warming: None,
        };
        let source = LineSource { depth: 96.0, buried_depth: 2.0, radius: 0.0625 };
        Shape::of(&ground, &[source], &[[0.0, 0.0], [spacing, 0.0]], &[], &TIMES).0
    }

    fn only_file(folder: &Path) -> PathBuf {
        let files: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
        assert_eq!(files.len(), 1, "{files:?}");
        files[0].clone()
    }

    #[test]
    fn a_stored_response_is_returned_to_the_bit() {
        let folder = tempfile::tempdir().unwrap();
        let cache = ResponseCache::new(folder.path().join("new").join("folder")).unwrap();
        let own = shape(6.0).response(&CancelToken::default()).unwrap();
        assert_eq!(cache.response(&shape(6.0), &CancelToken::default()).unwrap(), own);
        let file = only_file(&cache.folder);
        let read = curve_after(&head(&shape(6.0).key()), &fs::read(&file).unwrap()).unwrap();
        assert_eq!(read, own);
        assert_eq!(cache.response(&shape(6.0), &CancelToken::default()).unwrap(), own);
    }

    #[test]
    fn a_file_with_a_valid_checksum_is_used() {
        let folder = tempfile::tempdir().unwrap();
        let cache = ResponseCache::new(folder.path().to_owned()).unwrap();
        cache.response(&shape(6.0), &CancelToken::default()).unwrap();
        let file = only_file(folder.path());
        let mut content = head(&shape(6.0).key());
        let other = shape(9.0).response(&CancelToken::default()).unwrap();
        content.extend(other.to_numbers().into_iter().flat_map(f64::to_le_bytes));
        content.extend(checksum(&content).to_le_bytes());
        fs::write(&file, content).unwrap();
        assert_eq!(cache.response(&shape(6.0), &CancelToken::default()).unwrap(), other);
    }

    #[test]
    fn a_damaged_file_is_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let cache = ResponseCache::new(folder.path().to_owned()).unwrap();
        let own = cache.response(&shape(6.0), &CancelToken::default()).unwrap();
        let file = only_file(folder.path());
        let whole = fs::read(&file).unwrap();
        let cut = |length: usize| whole[..length].to_vec();
        let flipped = |place: usize| {
            let mut content = whole.clone();
            content[place] ^= 1;
            content
        };
        let middle = whole.len() / 2;
        let others = [vec![], cut(7), cut(middle), cut(whole.len() - WORD), flipped(3), flipped(middle)];
        for damaged in others.into_iter().chain([flipped(whole.len() - 1), [&whole[..], b"1"].concat()]) {
            fs::write(&file, damaged).unwrap();
            assert_eq!(cache.response(&shape(6.0), &CancelToken::default()).unwrap(), own);
            assert_eq!(fs::read(&file).unwrap(), whole);
        }
    }

    #[test]
    fn concurrent_requests_get_the_same_response() {
        let folder = tempfile::tempdir().unwrap();
        let own = shape(6.0).response(&CancelToken::default()).unwrap();
        std::thread::scope(|scope| {
            for _ in 0..8 {
                scope.spawn(|| {
                    let cache = ResponseCache::new(folder.path().to_owned()).unwrap();
                    assert_eq!(cache.response(&shape(6.0), &CancelToken::default()).unwrap(), own);
                });
            }
        });
        only_file(folder.path());
    }

    #[test]
    fn an_impossible_folder_is_an_error() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        fs::write(&file, "mine").unwrap();
        assert!(matches!(ResponseCache::new(file.join("folder")), Err(Error::Io { .. })));
        let cache = ResponseCache { folder: folder.path().join("gone") };
        assert!(matches!(cache.response(&shape(6.0), &CancelToken::default()), Err(Error::Io { .. })));
    }
}
