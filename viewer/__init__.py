"""What people look at: windows and pictures drawn from a compartment."""
