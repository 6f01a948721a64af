"""How strict notebook kernels are, in the tests and when notebooks are refreshed."""

# A warning in a cell is an error.  Two exceptions are the kernel's own affair: a notice that ipykernel gives
# itself as it shuts down (as an error it would make every kernel hang there for two seconds), and one of
# Python 3.12 and later about the event loop that it starts with (as an error it would keep it from starting).
KERNEL_WARNINGS = (
    "error,ignore::PendingDeprecationWarning:ipykernel.kernelbase,"
    "ignore:There is no current event loop:DeprecationWarning"
)
