-- Fills a ledger on PostgreSQL as a firm with 50 desks would over ten years: `fifty_desks.py` runs it, with the number of
-- quotes in place of :N, and then has the program derive what follows from these rows.
--
-- The ledger has one quote already, issued, agreed and paid for; every other one is made after it. Events lie in the order
-- of the numbers, the last of them in three months. Half of the quotes are agreed, and before today these were delivered,
-- counted back (one in fifty with a panel lost) and paid. The others were declined, but for one in fifty; of those to come
-- a quarter has come back.
set local synchronous_commit = off;
create temp table p on commit drop as select * from quotes where sha256 <> '' limit 1;
create temp table pl on commit drop as select l.* from lines l join p using (quote_id);
create temp table e on commit drop as
    select event, line::jsonb as j from history where quote_number = (select quote_number from p);
create temp table n on commit drop as
    select g as n, 'Q' || (10000000 + g) as number, 'desk' || (g % 50) as desk,
        current_date - 3560 + (g * 3650::bigint / :N)::integer + g * 7919 % 61 - 30 as d, g % 2 = 0 as agreed,
        1000000 + g * 2 as quote_id, lpad(g::text, 64, '0') as sha256
    from generate_series(1, :N) g;
create temp table happened on commit drop as
    select n.*, k, event, more from n, lateral (values
        (1, 'issued', '{}'::jsonb, true),
        (2, 'returned', '{"verdict": "agrees", "findings": 0}', agreed or (d >= current_date and n.n % 8 = 1)),
        (3, 'agreed', '{}', agreed),
        (4, 'paid', jsonb_build_object('paid_on', d - 20), agreed),
        (5, 'delivered', '{}', agreed and d < current_date),
        (6, 'counted back', jsonb_build_object('losses', case when n.n % 50 = 0
            then '[["panels", "OAK-44", 0, 1]]'::jsonb else '[]'::jsonb end), agreed and d < current_date),
        (7, 'declined', '{"because": "too dear"}', not agreed and d < current_date and n.n % 50 <> 1)
    ) as each (k, event, more, does) where does;

insert into quotes (
        quote_id, quote_number, revision, sha256, issued_on, client, event, venue, event_date, days, held_from, held_to,
        currency, minor_units, goods, discount, waiver, delivery, labour, after_hours_charge, taxable, tax, total, deposit,
        balance)
    select n.quote_id + issue, n.number, 1, case when issue = 0 then '' else n.sha256 end, n.d - 60,
        'Client ' || n.n % (:N / 5 + 1), p.event, p.venue, n.d, p.days, n.d - 1, n.d + p.days,
        p.currency, p.minor_units, p.goods, p.discount, p.waiver, p.delivery, p.labour, p.after_hours_charge, p.taxable,
        p.tax, p.total, p.deposit, p.balance
    from n, p, (values (0), (1)) as each (issue) where issue = 0 or n.agreed;
insert into lines (
        quote_id, line, panel, panels, slot_pieces, tongue_pieces, corners, sheets, carts, subfloor_kind, crew_minutes,
        hire, edging, subfloor, net_hire, net_edging, net_subfloor, spread_delivery, spread_labour, spread_waiver,
        spread_tax)
    select q.quote_id, pl.line, case when q.quote_id % 6 < 4 then 'OAK-44' else 'WHITE-23' end, pl.panels, pl.slot_pieces,
        pl.tongue_pieces, pl.corners, pl.sheets, pl.carts, pl.subfloor_kind, pl.crew_minutes, pl.hire, pl.edging,
        pl.subfloor, pl.net_hire, pl.net_edging, pl.net_subfloor, pl.spread_delivery, pl.spread_labour, pl.spread_waiver,
        pl.spread_tax
    from quotes q, pl where q.quote_id > 1000000;
insert into history
    select desk, n / 50 * 8 + k, n * 8 + k, moment, happened.event, number, 1, (
        coalesce(e.j, (select j from e where event = 'issued'))
        || jsonb_build_object('desk', desk, 'sequence', n / 50 * 8 + k, 'clock', n * 8 + k, 'at', moment,
            'event', happened.event, 'quote_number', number, 'sha256', case when k = 1 then '' else sha256 end,
            'amount', (select case when d < current_date then total else deposit end from p)) || more)::text
    from happened left join e on e.event = happened.event,
        lateral (select (d - 60 + k * 8)::text || 'T10:00:00.000000+00:00' as moment) at;
analyze quotes, lines, history;
