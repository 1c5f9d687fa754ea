//! The subcommands of the program.
