"""The making list: what is made on a day, and what somebody says was made."""
