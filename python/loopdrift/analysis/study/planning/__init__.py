"""The cases of a study: what varies, its variants, and the portions in which the cases are run."""
