"""What the engine gives as records, said in sentences.

Below the jobs: drafts and found orders are stored as they were said.
"""
