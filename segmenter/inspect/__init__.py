"""Files with captions or chapters against published rules, wherever they were made."""
