//! The text of `READ-ME-FIRST.txt`: how to check a pack by hand, with tools that every system has.

use crate::bag_write::{PackPlan, Role};
use std::collections::BTreeSet;

/// The text for a pack that holds files of the given roles.
pub(crate) fn text(plan: &PackPlan<'_>, roles: impl Iterator<Item = Role>) -> String {
    let mut text = String::from("READ ME FIRST\n=============\n\n");
    let one_line = |words: &String| words.replace(char::is_control, " ");
    if let Some(notice) = plan.notice.as_ref().map(one_line) {
        text.push_str(&format!("{notice}\n\n"));
    }
    match plan.report_number.as_ref().map(one_line) {
        Some(number) => {
            text.push_str(&format!("This folder is the evidence pack of test report {number}.\n"))
        }
        None => text.push_str("This folder is an evidence pack. Its report states no number.\n"),
    }
    if !plan.absent.is_empty() {
        text.push_str(&format!(
            "{} file(s) that belong to it were not at hand when it was made; data/contents.json names them.\n",
            plan.absent.len()
        ));
    }
    text.push_str(BEGINNING);
    let roles: BTreeSet<Role> = roles.collect();
    for (role, line) in FOLDERS {
        if roles.contains(&role) {
            text.push_str(line);
        }
    }
    text.push_str(REST);
    text
}

const BEGINNING: &str = "\
It holds the bench data, what was concluded from them, and the papers made from both, so that
anyone can check them years later without the program that made them.

The folder is a BagIt 1.0 bag (RFC 8493). Any BagIt tool can check it.


What is inside
--------------
  data/record.json            the facts of the test job, each with the file and row it came from
  data/assessment.json        what was computed from the facts: coverage, checks, verdict, reasons
  data/contents.json          every file below data/ with its purpose and its original name
";

const FOLDERS: [(Role, &str); 8] = [
    (Role::Paper, "  data/papers/                the report for people to read\n"),
    (Role::Summary, "  data/summary/               the same in brief for other programs\n"),
    (Role::Source, "  data/sources/               the files from the bench, byte for byte as they came\n"),
    (Role::Schema, "  data/schemas/               the formats that the files above are written to\n"),
    (Role::Standard, "  data/standards/             the levels and limits that the assessment used\n"),
    (Role::Template, "  data/templates/             what the papers were laid out with\n"),
    (
        Role::Viewer,
        "  data/viewer.html            a page that checks and shows a pack in a browser; one that came inside\n                              a pack can't vouch for that pack: use one from another place\n",
    ),
    (Role::Other, "  data/other/                 files of other kinds\n"),
];

const REST: &str = "  \
manifest-sha256.txt         SHA-256 checksum of every file below data/
  manifest-sha512.txt         the same with SHA-512
  tagmanifest-sha256.txt      SHA-256 checksum of this file and those beside it
  tagmanifest-sha512.txt      the same with SHA-512
  bag-info.txt                report number, date of issue, number and bytes of the files
  bagit.txt                   says that this is a BagIt bag

A few characters in file names are replaced, since not every system takes them;
data/contents.json has the names as they were.


Check it by hand
----------------
Unpack the zip, open a command line in this folder (the one with bagit.txt), then:

Linux
    sha256sum --check --quiet manifest-sha256.txt tagmanifest-sha256.txt

macOS
    shasum -a 256 --check manifest-sha256.txt
    shasum -a 256 --check tagmanifest-sha256.txt

Windows, PowerShell (prints what differs, and nothing when all is well)
    Get-Content -Encoding UTF8 manifest-sha256.txt, tagmanifest-sha256.txt | ForEach-Object {
      $sum, $file = $_ -split '  ', 2
      if ((Get-FileHash -Algorithm SHA256 -LiteralPath $file).Hash -ne $sum) { \"DIFFERS: $file\" }
    }

Windows, one file at a time; compare with its line in manifest-sha256.txt
    certutil -hashfile data\\record.json SHA256

7-Zip
    Right-click a file, CRC SHA, SHA-256; compare with its line in manifest-sha256.txt.

Also count: the number after the dot of Payload-Oxum in bag-info.txt is the number of files below
data/, the number before it their bytes together. A file that no manifest lists does not belong to
the pack.


What this proves, and what it does not
--------------------------------------
When every checksum agrees, the files are those that the checksums were made of: nothing was
damaged, lost or added on the way.

That is all that checksums inside a folder can prove. Whoever alters a file can compute new
checksums. An unsigned pack proves integrity only, not who made it.

The identity of this pack is the SHA-256 checksum of tagmanifest-sha256.txt:
    Linux    sha256sum tagmanifest-sha256.txt
    macOS    shasum -a 256 tagmanifest-sha256.txt
    Windows  certutil -hashfile tagmanifest-sha256.txt SHA256
Compare it with the identity that you got from the laboratory by another way than this pack: on the
signed paper, on its web site, by telephone. Equal identities mean the same pack, file for file,
whichever tool packed the zip.

The verdict is not checked by checksums. It follows from data/record.json and data/standards/ and
can be computed again from them.


Signatures
----------
Where there is a folder signatures/, each file in it is a signature over tagmanifest-sha256.txt in
OpenSSH's form (.sig), or a time stamp over it (.tsr). None of them is in a manifest: they were added
when the manifests were made.

Signature (.sig): get the laboratory's list of signers by another way than this pack. It has one line
for each of them: a name, and a public key as ssh-keygen writes it. Then, in this folder:
    ssh-keygen -Y verify -f SIGNERS -I WHO -n fulgurite-pack-ROLE -s signatures/FILE.sig < tagmanifest-sha256.txt
ROLE is tested, checked or authorised; WHO is the name in the list. On Windows, in PowerShell, let cmd
hand the file over: cmd /c \"ssh-keygen ... < tagmanifest-sha256.txt\".
Without a list, this shows whether the signature fits, and by which key:
    ssh-keygen -Y check-novalidate -n fulgurite-pack-ROLE -s signatures/FILE.sig < tagmanifest-sha256.txt
Compare the fingerprint of the key (SHA256:...) with the one that the laboratory published, and with
the one that the report prints, where it prints one.

Time stamp (.tsr, RFC 3161): it shows that this pack, file for file, was there at the moment that it
states. Get the authority's certificate by another way than this pack, then, in this folder:
    openssl ts -verify -data tagmanifest-sha256.txt -in signatures/FILE.tsr -CAfile AUTHORITY.pem
Where the file is a bare token without the authority's reply around it, add -token_in. This prints
the moment:
    openssl ts -reply -in signatures/FILE.tsr -text
";
