"""At most how many: limits that hold for every arrangement the rule of turn allows."""
