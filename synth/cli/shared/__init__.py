"""What several commands share: arguments, files, progress, the wording of outcomes."""
