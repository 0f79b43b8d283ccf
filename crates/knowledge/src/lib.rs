//! Part kinds, outputs, margins, defaults, tools, cautions and sources, loaded from TOML and checked.
