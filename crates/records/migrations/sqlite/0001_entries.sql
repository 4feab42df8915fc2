-- Histories of cases. Entries are added and never changed or taken out.
-- The mark of our files ("TrWd") and the form of the tables, which each migration raises to its own number.
pragma application_id = 1416779620;
pragma user_version = 1;

create table entry (
  sequence integer primary key autoincrement,
  id text not null unique,
  case_code text not null check (case_code glob '[A-Z][A-Z]*-[0-9][0-9]*'),
  number integer not null check (number >= 1),
  wall_ms integer not null,
  boot text,
  since_boot_ms integer,
  body text not null check (json_valid(body)),
  seal text not null check (length(seal) = 64),
  unique (case_code, number)
) strict;

create trigger entry_is_not_changed before update on entry
begin
  select raise(abort, 'entries are never changed');
end;

create trigger entry_is_not_taken_out before delete on entry
begin
  select raise(abort, 'entries are never taken out');
end;
