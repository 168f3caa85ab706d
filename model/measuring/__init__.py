"""What is to be measured: the paper form, and the check tapes that make a slip show."""
