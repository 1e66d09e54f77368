"""The answers: one record for each kind of finding. They carry no opinion."""
