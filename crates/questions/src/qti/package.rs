//! The ZIP around the files: written the same way always, read within limits.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{Cursor, Read as _, Write as _};

use zip::write::{SimpleFileOptions, ZipWriter};
use zip::{CompressionMethod, DateTime, ZipArchive};

use super::{MAX_ENTRIES, MAX_ENTRY_BYTES, MAX_NAME, MAX_PACKAGE_BYTES, MAX_TOTAL_BYTES, QtiError};

/// How a ZIP with at least one entry begins.
const SIGNATURE: &[u8] = b"PK\x03\x04";

/// Whether these bytes mean to be a package.
pub fn is_package(bytes: &[u8]) -> bool {
    bytes.starts_with(SIGNATURE)
}

/// Files in this order, stored, at 1980-01-01 00:00, as a system of Unix would.
///
/// # Errors
/// What the writer of ZIP says, for two files of one name.
pub fn pack(files: &[(String, Vec<u8>)]) -> Result<Vec<u8>, String> {
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Stored)
        .last_modified_time(DateTime::default())
        .system(zip::System::Unix)
        .unix_permissions(0o644);
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        zip.start_file(name.as_str(), options).map_err(|error| error.to_string())?;
        zip.write_all(bytes).map_err(|error| error.to_string())?;
    }
    Ok(zip.finish().map_err(|error| error.to_string())?.into_inner())
}

/// The files of a package by name. Every entry is inflated, so that no size is believed; what is not XML is not kept.
///
/// # Errors
/// When it breaks a limit or is damaged.
pub fn unpack(bytes: &[u8]) -> Result<BTreeMap<String, Vec<u8>>, QtiError> {
    if bytes.len() > MAX_PACKAGE_BYTES {
        return Err(QtiError::PackageTooLarge { given: bytes.len() });
    }
    let damaged = |place: &str, why: String| QtiError::Damaged { place: place.into(), why };
    let mut archive =
        ZipArchive::new(Cursor::new(bytes)).map_err(|error| damaged("directory", error.to_string()))?;
    if archive.len() > MAX_ENTRIES {
        return Err(QtiError::TooManyEntries { given: archive.len() });
    }
    if archive.has_duplicate_names() {
        return Err(QtiError::Duplicate { entry: doubled(bytes, &archive) });
    }
    let mut names = Vec::new();
    for place in 0..archive.len() {
        let entry = archive
            .by_index_data(place)
            .map_err(|error| damaged(&format!("entry {}", place + 1), error.to_string()))?;
        let raw = String::from_utf8_lossy(entry.name_raw()).into_owned();
        let name = std::str::from_utf8(entry.name_raw())
            .map_err(|_| QtiError::Name { place: "directory".into(), given: raw })?
            .to_owned();
        check_name("directory", name.strip_suffix('/').unwrap_or(&name))?;
        if entry.is_symlink() {
            return Err(QtiError::Link { entry: name });
        }
        if entry.encrypted() {
            return Err(QtiError::Encrypted { entry: name });
        }
        if !matches!(entry.compression(), CompressionMethod::Stored | CompressionMethod::Deflated) {
            let given = format!("{:?}", entry.compression());
            return Err(QtiError::Compression { entry: name, given });
        }
        names.push((name, entry.size()));
    }
    archive
        .validate_header_consistency()
        .map_err(|error| damaged("headers of the entries", error.to_string()))?;
    let mut files = BTreeMap::new();
    let mut total = 0;
    for (place, (name, stated)) in names.into_iter().enumerate() {
        let too_large = || QtiError::EntryTooLarge { entry: name.clone(), allowed: MAX_ENTRY_BYTES };
        if stated > MAX_ENTRY_BYTES {
            return Err(too_large());
        }
        let entry = archive.by_index(place).map_err(|error| damaged(&name, error.to_string()))?;
        let mut content = Vec::new();
        // One byte more than stated is enough to know that the header lies.
        let read = entry.take(stated + 1).read_to_end(&mut content);
        if content.len() as u64 > stated {
            return Err(QtiError::SizeStated { entry: name, stated });
        }
        read.map_err(|error| damaged(&name, error.to_string()))?;
        if content.len() as u64 != stated {
            return Err(QtiError::SizeStated { entry: name, stated });
        }
        total += content.len() as u64;
        if total > MAX_TOTAL_BYTES {
            return Err(QtiError::TotalTooLarge { entry: name });
        }
        if !name.ends_with('/') {
            let kept = if name.to_ascii_lowercase().ends_with(".xml") { content } else { Vec::new() };
            files.insert(name, kept);
        }
    }
    Ok(files)
}

/// The first name that stands in the directory a second time; the reader of ZIP says only that there is one.
fn doubled(bytes: &[u8], archive: &ZipArchive<Cursor<&[u8]>>) -> String {
    let start = archive.offset() + archive.central_directory_start();
    let mut rest = usize::try_from(start).ok().and_then(|at| bytes.get(at..)).unwrap_or_default();
    let mut seen = BTreeSet::new();
    // Lengths of name, extra field and comment stand from byte 28 of a record, the name from byte 46.
    while rest.starts_with(b"PK\x01\x02") {
        let length =
            |at: usize| rest.get(at..at + 2).map_or(0, |two| usize::from(two[0]) + 256 * usize::from(two[1]));
        let (name, others) = (length(28), length(30) + length(32));
        let Some(name) = rest.get(46..46 + name) else { break };
        if !seen.insert(name) {
            return String::from_utf8_lossy(name).into_owned();
        }
        rest = rest.get(46 + name.len() + others..).unwrap_or_default();
    }
    String::new()
}

/// Whether a name stays in the package on every system: see [`super::NAMES`].
///
/// # Errors
/// When it does not.
pub fn check_name(place: &str, name: &str) -> Result<(), QtiError> {
    let plain = !name.is_empty()
        && name.chars().count() <= MAX_NAME
        && !name.contains(['\\', ':'])
        && !name.chars().any(char::is_control)
        && name.split('/').all(|part| !matches!(part, "" | "." | ".."));
    if plain { Ok(()) } else { Err(QtiError::Name { place: place.into(), given: name.into() }) }
}

/// What a reference in a file of this folder points at, as a name of the package.
///
/// Percent signs are read as the standard of addresses says; `..` may lead up to the root and not above it. A query or a place in the file is not part of the name.
///
/// # Errors
/// When it leads out of the package.
pub fn resolve(file: &str, folder: &str, href: &str) -> Result<String, QtiError> {
    let refused = || QtiError::Name { place: file.into(), given: href.into() };
    let address = href.split(['?', '#']).next().unwrap_or_default();
    let decoded = decode(address).ok_or_else(refused)?;
    if decoded.starts_with('/') || decoded.contains(['\\', ':']) {
        return Err(refused());
    }
    let mut parts: Vec<&str> = folder.split('/').filter(|part| !part.is_empty()).collect();
    for part in decoded.split('/') {
        match part {
            "." => {}
            ".." => {
                parts.pop().ok_or_else(refused)?;
            }
            part => parts.push(part),
        }
    }
    let name = parts.join("/");
    check_name(file, &name).map_err(|_| refused())?;
    Ok(name)
}

fn decode(address: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(address.len());
    let mut rest = address.bytes();
    while let Some(byte) = rest.next() {
        if byte == b'%' {
            let high = char::from(rest.next()?).to_digit(16)?;
            let low = char::from(rest.next()?).to_digit(16)?;
            bytes.push((high * 16 + low) as u8);
        } else {
            bytes.push(byte);
        }
    }
    String::from_utf8(bytes).ok()
}
