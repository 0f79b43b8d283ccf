//! The equations: pure functions of numbers, one module a subject.
