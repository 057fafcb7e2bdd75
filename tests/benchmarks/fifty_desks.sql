-- Fills a ledger on PostgreSQL as a firm with 50 desks would over ten years, for measuring (DEVELOPERS.md, "Past one
-- machine"). The ledger must have one quote that is agreed: every other one is made after it, and half are agreed.
--
--   psql ADDRESS -v N=200000 -f tests/benchmarks/fifty_desks.sql
--
set synchronous_commit=off;
create temp table p as select * from quotes where sha256<>'' limit 1;
create temp table pl as select l.* from lines l join p using (quote_id);
create temp table ph as select h.* from holds h join p using (quote_number);
create temp table i as select line::jsonb as j from history where event='issued' and quote_number=(select quote_number from p);
create temp table a as select line::jsonb as j from history where event='agreed' and quote_number=(select quote_number from p);
create temp table n as select g as n, 'Q'||(100000+g) as number, 'desk'||(g%50) as desk, (g/50)*2+1 as seq, date '2020-01-01' + (g % 3650) as d from generate_series(1,:N) g;
insert into quotes select (r).* from (select jsonb_populate_record(null::quotes, to_jsonb(p) || jsonb_build_object('quote_id', 1000000+n.n*2, 'quote_number', n.number, 'revision', 1, 'sha256','', 'event_date', n.d, 'held_from', n.d-1, 'held_to', n.d+1)) r from n, p offset 0) x;
insert into quotes select (r).* from (select jsonb_populate_record(null::quotes, to_jsonb(p) || jsonb_build_object('quote_id', 1000001+n.n*2, 'quote_number', n.number, 'revision', 1, 'sha256', lpad(n.n::text,64,'0'), 'event_date', n.d, 'held_from', n.d-1, 'held_to', n.d+1)) r from n, p where n.n%2=0 offset 0) x;
insert into lines select (r).* from (select jsonb_populate_record(null::lines, to_jsonb(pl) || jsonb_build_object('quote_id', q.quote_id)) r from quotes q, pl where q.quote_id>1000000 offset 0) x;
insert into agreements select number, 1000001+n*2, '2026-01-01', null, null, null from n where n%2=0;
insert into holds select number, ph.what, ph.code, ph.pieces, d-1, d+1 from n, ph where n%2=0;
insert into history select desk, seq, n*2-1, '2026-01-01', 'issued', number, 1, (i.j || jsonb_build_object('desk',desk,'sequence',seq,'clock',n*2-1,'quote_number',number))::text from n, i;
insert into history select desk, seq+1, n*2, '2026-01-01', 'agreed', number, 1, (a.j || jsonb_build_object('desk',desk,'sequence',seq+1,'clock',n*2,'quote_number',number,'sha256',lpad(n.n::text,64,'0')))::text from n, a where n%2=0;
analyze;
