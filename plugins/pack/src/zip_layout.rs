//! Accounts for every byte of a zip: local headers, bodies and descriptors against the directory.

use crate::report::Problem;
use crate::zip_directory::{DESCRIPTOR_FOLLOWS, Extra, Listed};
use crate::zip_end::{Directory, Trouble, read_at, refused};
use crate::zip_fields::Fields;
use crate::zip_format::{self, DESCRIPTOR, LOCAL, LOCAL_LENGTH, Method};
use std::io::{Read, Seek};

/// Where a member's body is.
#[derive(Clone, Copy)]
pub(crate) struct Body {
    pub(crate) at: u64,
    pub(crate) packed: u64,
    pub(crate) size: u64,
    pub(crate) crc: u32,
    pub(crate) method: Method,
}

/// Compares each local header with the directory and accounts for every byte in front of the directory.
pub(crate) fn locate<R: Read + Seek>(
    reader: &mut R,
    directory: &Directory,
    listed: &[Listed],
    deviations: &mut Vec<String>,
) -> Result<Vec<Body>, Vec<Trouble>> {
    let mut order: Vec<(usize, &Listed)> = listed.iter().enumerate().collect();
    order.sort_by_key(|(index, entry)| (entry.member.offset, *index));
    let mut bodies: Vec<Option<Body>> = vec![None; listed.len()];
    let mut next_free: u64 = 0;
    for (number, (index, entry)) in order.iter().enumerate() {
        let member = &entry.member;
        let fail = |what: String| vec![Trouble::Refused(Problem::new(&member.name, what))];
        if member.offset < next_free {
            return Err(fail("shares bytes with another entry".to_owned()));
        }
        if member.offset > next_free {
            let gap = member.offset - next_free;
            return Err(fail(format!("{gap} bytes in front of the entry belong to nothing")));
        }
        let local = read_local(reader, entry, directory.offset)?;
        let body_end = local
            .body_at
            .checked_add(member.packed)
            .filter(|end| *end <= directory.offset)
            .ok_or_else(|| fail("its packed size runs past the end of the entries".to_owned()))?;
        let next_start = order.get(number + 1).map_or(directory.offset, |(_, next)| next.member.offset);
        next_free = body_end;
        if entry.flags & DESCRIPTOR_FOLLOWS != 0 {
            let length = next_start.saturating_sub(body_end);
            check_descriptor(reader, entry, body_end, length)?;
            next_free = next_start;
        }
        if !local.canonical && deviations.is_empty() {
            deviations.push(format!(
                "the header of `{}` is written in another way",
                crate::names::shown(&member.name)
            ));
        }
        if let Some(slot) = bodies.get_mut(*index) {
            *slot = Some(Body {
                at: local.body_at,
                packed: member.packed,
                size: member.size,
                crc: member.crc,
                method: member.method,
            });
        }
    }
    if next_free != directory.offset {
        return Err(vec![refused(format!(
            "{} bytes in front of the directory belong to nothing",
            directory.offset.saturating_sub(next_free)
        ))]);
    }
    Ok(bodies.into_iter().flatten().collect())
}

struct Local {
    body_at: u64,
    canonical: bool,
}

fn read_local<R: Read + Seek>(reader: &mut R, entry: &Listed, limit: u64) -> Result<Local, Vec<Trouble>> {
    let member = &entry.member;
    let fail = |what: &str| vec![Trouble::Refused(Problem::new(&member.name, what))];
    let nowhere = "the directory leads to a place where no entry begins";
    if member.offset.checked_add(LOCAL_LENGTH).is_none_or(|end| end > limit) {
        return Err(fail(nowhere));
    }
    let mut bytes = read_at(reader, member.offset, 30).map_err(|error| vec![error.into()])?;
    let header = LocalHeader::read(&bytes).ok_or_else(|| fail(nowhere))?;
    let variable = usize::from(header.name_length) + usize::from(header.extra_length);
    let body_at = member.offset + LOCAL_LENGTH + variable as u64;
    if body_at > limit {
        return Err(fail("its header runs past the end of the entries"));
    }
    bytes.resize(30 + variable, 0);
    reader.read_exact(bytes.get_mut(30..).unwrap_or_default()).map_err(|error| vec![error.into()])?;
    let mut rest = Fields(bytes.get(30..).unwrap_or_default());
    let name = rest.take(usize::from(header.name_length)).unwrap_or_default();
    if name != entry.raw_name {
        return Err(fail("its name differs between the directory and its own header"));
    }
    if header.method != member.method.number() {
        return Err(fail("its compression method differs between the directory and its own header"));
    }
    // The bits for deflate's effort say nothing; everything else must agree.
    if (header.flags ^ entry.flags) & !0b110 != 0 {
        return Err(fail("its flags differ between the directory and its own header"));
    }
    let extra = Extra::read(rest.0).ok_or_else(|| fail("the extra fields of its own header are damaged"))?;
    let unknown_yet =
        entry.flags & DESCRIPTOR_FOLLOWS != 0 && header.crc == 0 && header.packed == 0 && header.size == 0;
    if !unknown_yet {
        let sizes = extra.resolve_local(header.packed, header.size);
        let stated_later =
            entry.flags & DESCRIPTOR_FOLLOWS != 0 && extra.has_zip64() && sizes == Some((0, 0));
        if !stated_later && (sizes != Some((member.packed, member.size)) || header.crc != member.crc) {
            return Err(fail("its sizes or CRC differ between the directory and its own header"));
        }
    }
    Ok(Local { body_at, canonical: entry.canonical && bytes == member.local_header() })
}

struct LocalHeader {
    flags: u16,
    method: u16,
    crc: u32,
    packed: u32,
    size: u32,
    name_length: u16,
    extra_length: u16,
}

impl LocalHeader {
    fn read(bytes: &[u8]) -> Option<Self> {
        let mut fields = Fields(bytes);
        if fields.u32()? != LOCAL {
            return None;
        }
        fields.u16()?; // version needed
        let flags = fields.u16()?;
        let method = fields.u16()?;
        fields.u32()?; // time and date
        Some(Self {
            flags,
            method,
            crc: fields.u32()?,
            packed: fields.u32()?,
            size: fields.u32()?,
            name_length: fields.u16()?,
            extra_length: fields.u16()?,
        })
    }
}

/// The record after a body that was written before its size was known: with or without signature, narrow or wide.
fn check_descriptor<R: Read + Seek>(
    reader: &mut R,
    entry: &Listed,
    at: u64,
    length: u64,
) -> Result<(), Vec<Trouble>> {
    let member = &entry.member;
    let fail =
        || vec![Trouble::Refused(Problem::new(&member.name, "the record after its body does not fit it"))];
    if !matches!(length, 12 | 16 | 20 | 24) {
        return Err(fail());
    }
    let bytes =
        read_at(reader, at, usize::try_from(length).unwrap_or(0)).map_err(|error| vec![error.into()])?;
    let mut fields = Fields(&bytes);
    if matches!(length, 16 | 24) && fields.u32() != Some(DESCRIPTOR) {
        return Err(fail());
    }
    let crc = fields.u32();
    let (packed, size) = if length >= 20 {
        (fields.u64(), fields.u64())
    } else {
        (fields.u32().map(u64::from), fields.u32().map(u64::from))
    };
    if (crc, packed, size) != (Some(member.crc), Some(member.packed), Some(member.size)) {
        return Err(fail());
    }
    Ok(())
}

/// What the canonical form asks of the zip as a whole.
pub(crate) fn check_form(directory: &Directory, listed: &[Listed], deviations: &mut Vec<String>) {
    if listed.iter().any(|entry| entry.folder) {
        deviations.push("folders have entries of their own".to_owned());
    }
    let ascending = listed.windows(2).all(|pair| match pair {
        [a, b] => a.member.name < b.member.name && a.member.offset < b.member.offset,
        _ => true,
    });
    if !ascending {
        deviations.push("the entries are in another order".to_owned());
    }
    let records = zip_format::end_records(
        listed.len() as u64,
        directory.offset,
        directory.length,
        directory.comment.len(),
    );
    if records != directory.records {
        deviations.push("the end records are written in another way".to_owned());
    }
}
