//! C binding.
