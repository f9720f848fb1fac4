//! The blocks of a side as paths in a box of 152 × 410 units from x = 28. The outline clips them, so neighbours share plain
//! edges. What lies inside the side is drawn with a broken line. Drawn by us, after the outlines of the rail.

use crate::trade::share::Species;

/// A block of a side.
#[derive(Debug, Clone, Copy)]
pub(super) struct Block {
    /// Its path.
    pub(super) path: &'static str,
    /// Where the number of its primal stands; on one block of each.
    pub(super) label: Option<(i32, i32)>,
    /// Lies inside, under other blocks.
    pub(super) is_inside: bool,
}

type Row = (&'static str, &'static str, Option<(i32, i32)>);

const BEEF_EDGE: &str = "M104 8 C103 14 106 20 106 28 C106 44 100 56 88 70 C74 86 64 106 64 128 C64 150 74 166 70 186 \
    C66 206 50 224 44 250 C38 276 42 304 49 326 C52 338 51 350 48 364 C44 380 38 396 42 404 C46 411 57 410 61 402 \
    C65 394 66 384 72 375 C76 369 82 366 88 369 C96 374 102 382 110 390 C120 399 138 398 147 388 C158 374 166 350 165 322 \
    C163 290 157 262 157 232 C157 204 162 178 166 154 C170 128 166 106 154 86 C142 68 126 56 122 36 C120 24 124 18 123 9 \
    C122 4 106 3 104 8 Z";
const BEEF: &[Row] = &[
    ("heel_hindshank", "M60 0H180V76L140 76L60 72Z", None),
    ("tip", "M40 70L100 74C92 94 90 114 92 143L40 148Z", None),
    ("top_round", "M100 74L122 75C117 94 116 118 118 140L92 143C90 114 92 94 100 74Z", Some((106, 116))),
    ("eye_round", "M122 75L137 76C137 94 138 116 139 137L118 140C116 118 117 94 122 75Z", None),
    ("bottom_round", "M137 76L190 76V130L139 137C138 116 137 94 137 76Z", None),
    ("sirloin", "M190 130V184L98 188C93 174 91 160 92 143L118 140L139 137Z", None),
    ("flank", "M30 149L92 143C91 160 93 174 98 188C98 202 96 215 93 233L20 244Z", Some((79, 206))),
    ("short_loin", "M190 184V230L93 233C96 215 98 202 98 188Z", Some((130, 214))),
    ("rib", "M93 233L190 230V296L102 299C97 278 93 256 93 233Z", Some((127, 272))),
    ("plate", "M20 244L93 233C93 256 97 278 102 299L20 312Z", Some((68, 284))),
    ("chuck_blade", "M190 296V352L118 356L112 298.5L102 299Z", Some((138, 336))),
    ("chuck_arm", "M78 302L112 298.5L118 356L88 366L70 354Z", None),
    ("brisket", "M20 312L78 302L70 354H20Z", Some((62, 338))),
    ("foreshank", "M20 354H70L88 366L70 420H20Z", Some((54, 390))),
    ("neck", "M88 366L118 356L190 352V420H80Z", None),
    ("kph", "M112 162C121 158 128 166 127 177C126 190 117 197 110 192C103 187 104 166 112 162Z", Some((116, 183))),
];
const BEEF_BONES: &str = "M156 238C130 236 84 246 50 254M156 248C130 246 82 256 47 264M157 258C130 256 82 266 46 275\
    M158 268C130 266 82 276 46 286M160 278C132 276 84 286 47 297M161 288C132 287 86 296 49 308";

const HOG_EDGE: &str = "M103 8 C102 14 104 20 103 28 C101 42 92 50 82 64 C68 82 60 102 62 122 C64 144 70 158 64 180 \
    C54 208 42 232 42 262 C42 290 50 312 55 330 C58 342 56 354 54 367 C52 382 47 396 51 404 C55 410 66 409 70 401 \
    C73 393 75 384 80 377 C84 371 91 371 95 377 C99 386 104 397 116 402 C132 406 150 400 157 386 C164 370 167 346 167 320 \
    C167 284 163 250 163 216 C163 190 167 166 168 144 C170 118 165 98 152 80 C139 63 124 54 121 36 C119 24 123 18 122 9 \
    C121 4 105 3 103 8 Z";
const HOG: &[Row] = &[
    ("hind_hock", "M60 26L180 28V52L60 46Z", None),
    ("ham_body", "M40 45L180 52V142L40 152Z", Some((115, 106))),
    ("backfat", "M190 141V306L155 309C151 270 150 200 155 143.5Z", Some((158, 236))),
    ("loin_sirloin", "M112 147L155 143.5C153 160 152 176 151.7 190L111.6 191C111.4 176 111.5 162 112 147Z", None),
    ("loin_centre", "M151.7 190C151.3 218 151.7 247 153 272L115.6 274C113 247 111.5 219 111.6 191Z", Some((132, 240))),
    ("loin_blade", "M153 272C153.6 285 154.2 297 155 309L119 312C117.5 299 116.5 287 115.6 274Z", None),
    ("spareribs", "M94 203C99 209 106 206 112.5 201C112 240 114 270 119 312L99 314C93 282 91 240 94 203Z", None),
    (
        "belly",
        "M30 153L112 147C111 166 111 184 112.5 201C106 206 99 209 94 203C91 240 93 282 99 314L20 320Z",
        Some((74, 250)),
    ),
    ("butt", "M99 314L190 306V364L122 369L106 352Z", Some((138, 344))),
    ("picnic_body", "M20 320L99 314L106 352L122 369L96 379L70 360H20Z", None),
    ("fore_hock", "M20 360H70L92 376L82 393H20Z", None),
    ("jowl", "M92 376L122 369L190 364V420H84L82 393Z", Some((126, 391))),
    ("feet_neck_tail", "M60 0H180V28L60 26ZM20 393H82L84 420H20Z", Some((112, 22))),
];
const HOG_BONES: &str = "M100 214C108 212 132 208 150 206M96 226C108 224 132 220 150 218M95 239C108 237 132 233 151 231\
    M95 252C108 250 132 246 151 244M95 265C108 263 132 259 152 257M96 278C108 276 132 272 152 270M97 291C110 289 134 285 153 283\
    M98 303C112 301 134 298 154 296";

const LAMB_EDGE: &str = "M105 8 C104 15 106 22 105 34 C103 52 93 66 81 80 C67 96 60 112 62 132 C64 150 72 164 70 184 \
    C66 206 56 226 53 250 C51 272 56 290 60 308 C63 322 61 336 59 350 C56 368 50 388 54 399 C57 407 67 406 70 397 \
    C73 386 75 375 80 366 C84 360 90 361 95 367 C101 375 106 388 116 395 C127 402 141 397 147 385 C153 371 155 352 154 332 \
    C152 296 150 262 151 230 C153 200 160 178 163 152 C166 126 160 106 149 90 C138 74 126 62 122 40 C120 26 124 18 122 9 \
    C121 4 107 3 105 8 Z";
const LAMB: &[Row] = &[
    ("leg", "M40 0H180V158L92 166L40 160Z", Some((114, 118))),
    ("loin", "M180 158V226L98 230C96 208 94 188 92 166Z", Some((134, 204))),
    ("flank", "M30 158L92 166C94 188 96 208 98 230L20 240Z", Some((80, 210))),
    ("rack", "M98 230L180 226V298L104 302C101 278 99 254 98 230Z", Some((126, 270))),
    ("breast", "M20 240L98 230C99 254 101 278 104 302L88 330L70 340H20Z", Some((78, 284))),
    ("shoulder", "M104 302L180 298V352L128 360L100 364L70 340L88 330Z", Some((126, 338))),
    ("foreshank", "M20 340H70L96 361L78 420H20Z", Some((64, 376))),
    ("neck", "M96 361L100 364L128 360L180 352V420H78Z", None),
    ("kidneys", "M110 180C118 176 124 183 123 193C122 204 114 209 108 205C102 200 103 183 110 180Z", Some((113, 198))),
];
const GOAT: &[Row] = &[
    ("leg", "M40 66L180 70V158L92 166L40 160Z", Some((114, 124))),
    ("loin", "M180 158V226L98 230C96 208 94 188 92 166Z", Some((134, 204))),
    ("flank", "M30 158L92 166C94 188 96 208 98 230L20 240Z", Some((80, 210))),
    ("rack", "M98 230L180 226V298L104 302C101 278 99 254 98 230Z", Some((126, 270))),
    ("breast", "M20 240L98 230C99 254 101 278 104 302L88 330L70 340H20Z", Some((78, 284))),
    ("shoulder", "M104 302L180 298V352L128 360L100 364L70 340L88 330Z", Some((126, 338))),
    ("shanks", "M40 0H180V70L40 66ZM20 340H70L96 361L78 420H20Z", Some((64, 376))),
    ("neck", "M96 361L100 364L128 360L180 352V420H78Z", None),
    ("kidneys", "M110 180C118 176 124 183 123 193C122 204 114 209 108 205C102 200 103 183 110 180Z", Some((113, 198))),
];
const LAMB_BONES: &str = "M146 236C128 234 88 242 56 250M146 247C128 245 86 253 54 261M146 258C128 256 86 264 54 272\
    M147 269C128 267 86 275 55 283M148 280C130 278 88 286 58 294M149 291C132 289 92 297 61 305";

/// The shapes that lie inside a side.
const INSIDE: &[&str] = &["kph", "kidneys"];

const fn rows(species: Species) -> &'static [Row] {
    match species {
        Species::Beef => BEEF,
        Species::Hog => HOG,
        Species::Lamb => LAMB,
        Species::Goat => GOAT,
    }
}

/// The shape of a block.
pub(super) fn block(species: Species, id: &str) -> Option<Block> {
    let (id, path, label) = rows(species).iter().find(|(row, ..)| *row == id)?;
    Some(Block { path, label: *label, is_inside: INSIDE.contains(id) })
}

/// The outline of a side.
pub(super) const fn outline(species: Species) -> &'static str {
    match species {
        Species::Beef => BEEF_EDGE,
        Species::Hog => HOG_EDGE,
        Species::Lamb | Species::Goat => LAMB_EDGE,
    }
}

/// The hook a side hangs from.
pub(super) const fn hook(species: Species) -> &'static str {
    match species {
        Species::Beef | Species::Lamb | Species::Goat => "M116 0V7C119 12 117 18 112 18",
        Species::Hog => "M115 0V7C118 12 116 18 111 18",
    }
}

/// Ribs, as thin strokes.
pub(super) const fn bones(species: Species) -> &'static str {
    match species {
        Species::Beef => BEEF_BONES,
        Species::Hog => HOG_BONES,
        Species::Lamb | Species::Goat => LAMB_BONES,
    }
}

/// Every block that is drawn.
#[cfg(test)]
pub(super) fn all(species: Species) -> impl Iterator<Item = &'static str> {
    rows(species).iter().map(|(id, ..)| *id)
}
