//! Ways to make the copy, compared.
