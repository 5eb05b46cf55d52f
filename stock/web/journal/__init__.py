"""The journal: what moved on a day, who, when, why, by which document?"""
