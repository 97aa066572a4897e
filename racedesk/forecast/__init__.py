"""When the night will end. No Django here."""
