//! The secret part of an address, kept beside the journal so that a server that was started again has the same one.

use crate::output::{folder_of, sync_folder};
use std::fs::OpenOptions;
use std::io::{self, Read, Write};
use std::path::Path;

/// Letters that survive being read aloud and typed on a tablet.
const LETTERS: &[u8; 32] = b"0123456789abcdefghjkmnpqrstvwxyz";
/// How many: five bits each.
const LENGTH: usize = 26;

/// The token kept in a file; made anew, from the system's randomness, where there is none.
///
/// # Errors
/// When the file holds something else or can't be written, or the system has no randomness to give.
pub fn kept_token(path: &Path) -> io::Result<String> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    match options.open(path) {
        Ok(mut file) => {
            let made = new_token().and_then(|token| {
                file.write_all(token.as_bytes())?;
                file.sync_all()?;
                Ok(token)
            });
            match &made {
                Ok(_) => sync_folder(folder_of(path)),
                // Half a token would be refused ever after.
                Err(_) => drop(std::fs::remove_file(path)),
            }
            made
        }
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
            let mut token = String::new();
            OpenOptions::new().read(true).open(path)?.take(1024).read_to_string(&mut token)?;
            let token = token.trim().to_owned();
            if token.len() == LENGTH && token.bytes().all(|byte| LETTERS.contains(&byte)) {
                Ok(token)
            } else {
                Err(io::Error::new(
                    io::ErrorKind::InvalidData,
                    "the file holds no token: remove it, and a new one is made",
                ))
            }
        }
        Err(error) => Err(error),
    }
}

fn new_token() -> io::Result<String> {
    let mut bytes = [0u8; LENGTH];
    getrandom::fill(&mut bytes).map_err(|error| io::Error::other(error.to_string()))?;
    Ok(bytes
        .iter()
        .filter_map(|byte| LETTERS.get(usize::from(byte & 31)))
        .map(|letter| char::from(*letter))
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_is_made_once_and_no_two_are_alike() {
        let folder = tempfile::tempdir().unwrap();
        let (one, other) = (folder.path().join("one"), folder.path().join("other"));
        let token = kept_token(&one).unwrap();
        assert_eq!(token.len(), LENGTH);
        assert_eq!(kept_token(&one).unwrap(), token);
        assert_ne!(kept_token(&other).unwrap(), token);
        std::fs::write(&other, "1234").unwrap();
        assert!(kept_token(&other).is_err());
    }
}
