//! The public page: its pictures are ours, and nothing a camera wrote is in them.

use super::Checked;
use crate::book::conn::DbConn;
use crate::book::ids::PictureId;
use crate::book::schema::{public_picture, public_picture_size};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use diesel::prelude::*;
use sha2::{Digest, Sha256};

/// 17: every picture has a width; each is a JPEG without application data or comments, under the address its bytes give it.
pub(super) fn pictures(c: &mut DbConn) -> QueryResult<Checked> {
    let ids: Vec<PictureId> = public_picture::table.select(public_picture::id).load(c)?;
    let sizes: Vec<(PictureId, i64, String, String)> = public_picture_size::table
        .select((
            public_picture_size::picture_id,
            public_picture_size::width,
            public_picture_size::digest,
            public_picture_size::body,
        ))
        .load(c)?;
    let mut faults: Vec<String> = ids
        .iter()
        .filter(|id| !sizes.iter().any(|(of, ..)| of == *id))
        .map(|id| format!("picture {id} has no width"))
        .collect();
    for (id, width, digest, body) in &sizes {
        let said = format!("picture {id}, {width} wide");
        let Ok(jpeg) = STANDARD.decode(body) else {
            faults.push(format!("{said}, cannot be read"));
            continue;
        };
        let own: String = Sha256::digest(&jpeg).iter().take(16).map(|byte| format!("{byte:02x}")).collect();
        if own != *digest {
            faults.push(format!("{said}, stands under another picture’s address"));
        }
        if !is_bare(&jpeg) {
            faults.push(format!("{said}, is no JPEG, or holds more than the picture"));
        }
    }
    Ok(Checked { rule: "17 pictures of the public page hold nothing but the picture", looked_at: sizes.len(), faults })
}

/// Whether a JPEG has, before its picture data, no application data but the one that says what it is (E0), and no comment.
fn is_bare(jpeg: &[u8]) -> bool {
    let Some(mut rest) = jpeg.strip_prefix(&[0xff, 0xd8]) else { return false };
    loop {
        let [0xff, marker, high, low, ..] = rest else { return false };
        match marker {
            0xda => return true,
            0xe1..=0xef | 0xfe => return false,
            _ => {}
        }
        let length = usize::from(u16::from_be_bytes([*high, *low])).saturating_add(2);
        let Some(next) = rest.get(length..) else { return false };
        rest = next;
    }
}

#[cfg(test)]
mod tests {
    use super::is_bare;

    #[test]
    fn more_than_the_picture_is_seen() {
        let jpeg = |marker: u8| [0xff, 0xd8, 0xff, 0xe0, 0, 4, 1, 2, 0xff, marker, 0, 3, 9, 0xff, 0xda, 0, 2, 7];
        assert!(is_bare(&jpeg(0xdb)));
        for marker in [0xe1, 0xed, 0xfe] {
            assert!(!is_bare(&jpeg(marker)), "{marker:x}");
        }
        assert!(!is_bare(b"\x89PNG") && !is_bare(&[0xff, 0xd8]) && !is_bare(&[0xff, 0xd8, 0xff, 0xe0, 9, 9]));
    }
}
