"""The commands, one module for each room of the work; heavy libraries load only in the command that needs them."""
