"""How strict notebook kernels are, in the tests and when notebooks are refreshed."""

# A warning in a cell is an error.  The one exception is a notice which ipykernel gives to itself as it
# shuts down; as an error it would make every kernel hang there for two seconds.
KERNEL_WARNINGS = "error,ignore::PendingDeprecationWarning:ipykernel.kernelbase"
