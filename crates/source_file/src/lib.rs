//! Text files a person wrote, and what is wrong in them: line, caret, and what would be right.
