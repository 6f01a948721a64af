"""Tests in a real page; a package, so that its one browser is closed when the last of them has run."""
