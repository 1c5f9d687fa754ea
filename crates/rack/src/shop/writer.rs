//! Who is writing, and where the file lies.

use std::fs;
use std::path::{Path, PathBuf};

use crate::when;

/// Says beside the file who is writing, for others who wait. Begun and dropped while the file is locked for
/// writing: there is never more than one, and whoever drops it takes away none but their own.
pub(super) struct Writing(PathBuf);

impl Writing {
    pub(super) fn begin(shop: &Path, who: &str) -> Self {
        let note = writing_note(shop);
        // Only told to people who wait; where it can't be written they are told less.
        let _ = fs::write(&note, format!("{who}, since {}", when::moment(when::now())));
        Self(note)
    }
}

impl Drop for Writing {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.0);
    }
}

fn writing_note(shop: &Path) -> PathBuf {
    let mut name = shop.as_os_str().to_owned();
    name.push(".writing");
    PathBuf::from(name)
}

/// Who is writing.
pub(super) fn writer_of(shop: &Path) -> String {
    let note = fs::read_to_string(writing_note(shop)).unwrap_or_default();
    let note: String = note.chars().filter(|c| !c.is_control()).take(120).collect();
    if note.trim().is_empty() { "another program".to_owned() } else { note }
}

/// “ann on bench-2”, as far as the system tells.
pub(super) fn default_who() -> String {
    let var = |names: [&str; 2]| names.into_iter().find_map(|n| std::env::var(n).ok());
    let who = var(["USER", "USERNAME"]).unwrap_or_else(|| "somebody".to_owned());
    let host = fs::read_to_string("/etc/hostname").ok().map(|h| h.trim().to_owned());
    match host.or_else(|| var(["COMPUTERNAME", "HOSTNAME"])).filter(|h| !h.is_empty()) {
        Some(host) => format!("{who} on {host}"),
        None => who,
    }
}

/// The kind of network share that a file is on, where that can be told.
pub(super) fn share_of(path: &Path) -> Option<String> {
    let full = path.canonicalize().ok()?;
    if full.to_string_lossy().starts_with(r"\\") {
        return Some("Windows share".to_owned());
    }
    share_among(&full, &fs::read_to_string("/proc/mounts").ok()?)
}

/// The same by the system's list of what is mounted where.
fn share_among(full: &Path, mounts: &str) -> Option<String> {
    const SHARES: [&str; 8] =
        ["nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "fuse.sshfs", "fuse.davfs"];
    let mounts = mounts.lines().filter_map(|line| {
        let mut words = line.split(' ').skip(1);
        // The list writes a blank so.
        Some((words.next()?.replace(r"\040", " "), words.next()?.to_owned()))
    });
    let (_, kind) = mounts.filter(|(at, _)| full.starts_with(at)).max_by_key(|(at, _)| at.len())?;
    SHARES.contains(&kind.as_str()).then_some(kind)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_on_a_network_share_is_known_by_what_is_mounted_there() {
        let mounts = "/dev/sda1 / ext4 rw 0 0\n//nas/shop /mnt/the\\040shop cifs rw 0 0\n\
                      tmpfs /mnt/the\\040shop/tmp tmpfs rw 0 0\nnas:/rack /srv nfs4 rw 0 0\n";
        let share = |path: &str| share_among(Path::new(path), mounts);
        assert_eq!(share("/mnt/the shop/rack.oddment").as_deref(), Some("cifs"));
        assert_eq!(share("/srv/rack.oddment").as_deref(), Some("nfs4"));
        assert_eq!(share("/home/ann/rack.oddment"), None);
        assert_eq!(share("/mnt/the shop/tmp/rack.oddment"), None);
        assert_eq!(share("/srvs/rack.oddment"), None);
    }
}
