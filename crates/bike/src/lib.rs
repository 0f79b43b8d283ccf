//! What a part is: parts, slots, builds, swaps and catalogues, read from files and written back.
