//! How much YAML is too much. Far above any real project (a pattern of 100,000 steps is read), and
//! low enough that a hostile file is refused within a second and 100 MB.

/// The largest file.
pub(in crate::spec) const FILE_BYTES: u64 = 16 << 20;
/// The most files one project may be read from.
pub(in crate::spec) const FILES: usize = 16;
/// Lists and mappings within each other.
pub(super) const DEPTH: usize = 64;
/// Values of a file, keys counted, with every alias written out.
pub(super) const VALUES: usize = 1_500_000;
/// Items of one list.
pub(super) const ITEMS: usize = 200_000;
/// Keys of one mapping.
pub(super) const KEYS: usize = 256;
/// Characters that the parser may read before it can say what they mean. A list in brackets is one
/// such stretch, so this also bounds what the parser holds in memory.
pub(super) const STRETCH: usize = 256 << 10;
