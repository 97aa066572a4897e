import django.core.validators
import django.db.models.deletion
import django.utils.timezone
import inspection.models.public
from django.conf import settings
from django.db import migrations, models
from inspection.models.together import CreateTogether


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('inspection', '0001_people_cars_tracks_and_rules'),
    ]

    operations = [
        CreateTogether([
            migrations.CreateModel(
                name='Event',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('club', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='inspection.club')),
                    ('public_id', inspection.models.public.PublicIdField(default=inspection.models.public.new_public_id, editable=False, max_length=10, unique=True)),
                    ('name', models.CharField(max_length=120, verbose_name='name')),
                    ('date', models.DateField(verbose_name='date')),
                    ('track_layout', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='events', to='inspection.tracklayout')),
                    ('doors_at', models.DateTimeField(blank=True, null=True, verbose_name='doors and practice')),
                    ('tech_opens_at', models.DateTimeField(blank=True, null=True, verbose_name='tech opens')),
                    ('tech_closes_at', models.DateTimeField(blank=True, null=True, verbose_name='tech closes')),
                    ('racing_at', models.DateTimeField(blank=True, null=True, verbose_name='racing from')),
                    ('hall_closes_at', models.DateTimeField(blank=True, null=True, verbose_name='hall closes')),
                    ('note', models.CharField(blank=True, max_length=500, verbose_name='note')),
                    ('created_at', models.DateTimeField(default=django.utils.timezone.now)),
                ],
                options={
                    'ordering': ['-date', 'name'],
                },
            ),
            migrations.CreateModel(
                name='Race',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('event', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='races', to='racedesk.event')),
                    ('public_id', inspection.models.public.PublicIdField(default=inspection.models.public.new_public_id, editable=False, max_length=10, unique=True)),
                    ('position', models.PositiveSmallIntegerField(default=1, verbose_name='order in the night')),
                    ('name', models.CharField(max_length=120, verbose_name='name')),
                    ('racing_class', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='races', to='inspection.racingclass', verbose_name='class')),
                    ('needs_tech', models.BooleanField(default=True, verbose_name='cars go through tech')),
                    ('rule_revision', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='races', to='inspection.rulesheetrevision')),
                    ('tech_occasion', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='races', to='inspection.techoccasion')),
                    ('entries_close_at', models.DateTimeField(blank=True, null=True, verbose_name='entries close')),
                    ('cap', models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='most entries')),
                    ('fee', models.DecimalField(decimal_places=2, default=0, max_digits=8, validators=[django.core.validators.MinValueValidator(0)], verbose_name='fee')),
                    ('junior_fee', models.DecimalField(blank=True, decimal_places=2, max_digits=8, null=True, validators=[django.core.validators.MinValueValidator(0)], verbose_name='fee for juniors')),
                    ('heat_length_s', models.PositiveIntegerField(default=180, verbose_name='heat length, s')),
                    ('changeover_s', models.PositiveIntegerField(default=75, verbose_name='change-over, s')),
                    ('countdown_s', models.PositiveSmallIntegerField(default=5, verbose_name='countdown, s')),
                    ('power_off_warning_s', models.PositiveSmallIntegerField(default=10, verbose_name='warning before power-off, s')),
                    ('lap_method', models.CharField(choices=[('carried', 'car put down where it stopped; the section is read once, after its last lane'), ('lane_by_lane', 'every lane starts from the line; parts are added lane by lane'), ('whole_laps', 'whole laps only'), ('completed', 'the lap in progress is completed')], default='lane_by_lane', max_length=14, verbose_name='part laps')),
                    ('tie_rule', models.CharField(choices=[('best_lap', 'the faster best lap goes first'), ('best_lane', 'the better best lane goes first, then the next best'), ('shared', 'equal laps share the place')], default='best_lane', max_length=12, verbose_name='ties')),
                    ('created_at', models.DateTimeField(default=django.utils.timezone.now)),
                ],
                options={
                    'ordering': ['event', 'position', 'id'],
                    'constraints': [models.UniqueConstraint(fields=('event', 'name'), name='race_name_once_per_event'), models.CheckConstraint(condition=models.Q(('fee__gte', 0)), name='race_fee_not_negative'), models.CheckConstraint(condition=models.Q(('heat_length_s__gt', 0)), name='race_heat_has_length'), models.CheckConstraint(condition=models.Q(('needs_tech', False), models.Q(('rule_revision__isnull', False), ('tech_occasion__isnull', False)), _connector='OR'), name='race_with_tech_has_a_rule_sheet')],
                },
            ),
            migrations.CreateModel(
                name='Entry',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('race', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='entries', to='racedesk.race')),
                    ('public_id', inspection.models.public.PublicIdField(default=inspection.models.public.new_public_id, editable=False, max_length=10, unique=True)),
                    ('team_name', models.CharField(blank=True, max_length=120, verbose_name='team')),
                    ('state', models.CharField(choices=[('entered', 'entered'), ('waiting', 'on the waiting list'), ('checked_in', 'checked in'), ('withdrawn', 'withdrawn'), ('no_show', 'did not come')], default='entered', max_length=12)),
                    ('entered_at', models.DateTimeField(default=django.utils.timezone.now)),
                    ('entered_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ('is_late', models.BooleanField(default=False, verbose_name='admitted after closing')),
                    ('late_reason', models.CharField(blank=True, max_length=300, verbose_name='why admitted late')),
                    ('state_reason', models.CharField(blank=True, max_length=300)),
                    ('fee_due', models.DecimalField(decimal_places=2, default=0, max_digits=8, verbose_name='fee due')),
                    ('override_reason', models.CharField(blank=True, max_length=300)),
                    ('override_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ('override_at', models.DateTimeField(blank=True, null=True)),
                ],
                options={
                    'ordering': ['entered_at', 'id'],
                    'constraints': [models.CheckConstraint(condition=models.Q(('fee_due__gte', 0)), name='entry_fee_not_negative'), models.CheckConstraint(condition=models.Q(('is_late', False), models.Q(('late_reason', ''), _negated=True), _connector='OR'), name='late_entry_has_a_reason'), models.CheckConstraint(condition=models.Q(('override_at__isnull', True), models.Q(('override_by__isnull', False), models.Q(('override_reason', ''), _negated=True)), _connector='OR'), name='override_is_signed_and_has_a_reason')],
                },
            ),
            migrations.CreateModel(
                name='Payment',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('event', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='payments', to='racedesk.event')),
                    ('driver', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='payments', to='inspection.driver')),
                    ('entry', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='payments', to='racedesk.entry')),
                    ('kind', models.CharField(choices=[('paid', 'paid'), ('waived', 'waived'), ('credit_used', 'paid from credit'), ('credit_given', 'credit given'), ('paid_back', 'paid back')], max_length=14)),
                    ('amount', models.DecimalField(decimal_places=2, max_digits=8, verbose_name='amount')),
                    ('note', models.CharField(blank=True, max_length=200, verbose_name='note')),
                    ('at', models.DateTimeField(default=django.utils.timezone.now)),
                    ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ('corrects', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='corrected_by', to='racedesk.payment')),
                ],
                options={
                    'ordering': ['at', 'id'],
                    'constraints': [models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='payment_is_positive')],
                },
            ),
            migrations.CreateModel(
                name='Penalty',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('race', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='penalties', to='racedesk.race')),
                    ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='penalties', to='racedesk.entry')),
                    ('kind', models.CharField(choices=[('laps', 'laps taken away'), ('exclusion', 'excluded')], default='laps', max_length=10)),
                    ('laps', models.PositiveSmallIntegerField(default=0, verbose_name='laps')),
                    ('reason', models.CharField(max_length=300, verbose_name='reason')),
                    ('finding', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inspection.finding')),
                    ('at', models.DateTimeField(default=django.utils.timezone.now)),
                    ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ('withdrawn_at', models.DateTimeField(blank=True, null=True)),
                    ('withdrawn_reason', models.CharField(blank=True, max_length=300)),
                ],
                options={
                    'ordering': ['at'],
                    'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='penalty_has_a_reason')],
                },
            ),
            migrations.CreateModel(
                name='EntryImport',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('race', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='imports', to='racedesk.race')),
                    ('public_id', inspection.models.public.PublicIdField(default=inspection.models.public.new_public_id, editable=False, max_length=10, unique=True)),
                    ('file_name', models.CharField(max_length=200)),
                    ('rows', models.JSONField(default=list)),
                    ('read_at', models.DateTimeField(default=django.utils.timezone.now)),
                    ('read_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ('entered_at', models.DateTimeField(blank=True, null=True)),
                ],
            ),
            migrations.CreateModel(
                name='EntryDriver',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('entry', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='drivers', to='racedesk.entry')),
                    ('race', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='racedesk.race')),
                    ('driver', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='entries', to='inspection.driver')),
                    ('position', models.PositiveSmallIntegerField(default=1)),
                ],
                options={
                    'ordering': ['position', 'id'],
                    'constraints': [models.UniqueConstraint(fields=('race', 'driver'), name='driver_once_per_race')],
                },
            ),
            migrations.CreateModel(
                name='EntryCar',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('entry', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='cars', to='racedesk.entry')),
                    ('race', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='racedesk.race')),
                    ('car', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='entries', to='inspection.car')),
                    ('build', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inspection.build')),
                    ('is_spare', models.BooleanField(default=False, verbose_name='spare')),
                ],
                options={
                    'ordering': ['is_spare', 'id'],
                    'constraints': [models.UniqueConstraint(fields=('race', 'car'), name='car_once_per_race'), models.UniqueConstraint(condition=models.Q(('is_spare', False)), fields=('entry',), name='one_first_car_per_entry')],
                },
            ),
            migrations.CreateModel(
                name='DismissedFinding',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('race', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='dismissed_findings', to='racedesk.race')),
                    ('finding', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inspection.finding')),
                    ('reason', models.CharField(max_length=300, verbose_name='reason')),
                    ('at', models.DateTimeField(default=django.utils.timezone.now)),
                    ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ],
                options={
                    'ordering': ['at'],
                    'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='dismissal_has_a_reason')],
                },
            ),
            migrations.CreateModel(
                name='ResultSheet',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('race', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='result_sheets', to='racedesk.race')),
                    ('public_id', inspection.models.public.PublicIdField(default=inspection.models.public.new_public_id, editable=False, max_length=10, unique=True)),
                    ('number', models.PositiveIntegerField(verbose_name='revision')),
                    ('published_at', models.DateTimeField(default=django.utils.timezone.now)),
                    ('published_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ('change_note', models.CharField(blank=True, max_length=500, verbose_name='what changed and why')),
                    ('tech_note', models.CharField(blank=True, max_length=200, verbose_name='tech')),
                    ('tie_rule', models.CharField(choices=[('best_lap', 'the faster best lap goes first'), ('best_lane', 'the better best lane goes first, then the next best'), ('shared', 'equal laps share the place')], max_length=12)),
                    ('notes', models.JSONField(default=list)),
                    ('superseded_at', models.DateTimeField(blank=True, null=True)),
                ],
                options={
                    'ordering': ['race_id', '-number'],
                    'constraints': [models.UniqueConstraint(fields=('race', 'number'), name='result_number_once_per_race'), models.UniqueConstraint(condition=models.Q(('superseded_at__isnull', True)), fields=('race',), name='one_current_result_per_race'), models.CheckConstraint(condition=models.Q(('number', 1), models.Q(('change_note', ''), _negated=True), _connector='OR'), name='corrected_result_says_what_changed')],
                },
            ),
            migrations.CreateModel(
                name='ResultRow',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('sheet', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='rows', to='racedesk.resultsheet')),
                    ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='results', to='racedesk.entry')),
                    ('place', models.PositiveSmallIntegerField(blank=True, null=True)),
                    ('is_shared', models.BooleanField(default=False)),
                    ('status', models.CharField(choices=[('classified', 'classified'), ('withdrawn', 'withdrawn'), ('did_not_start', 'did not start'), ('excluded', 'excluded')], default='classified', max_length=14)),
                    ('driver_name', models.CharField(max_length=200)),
                    ('car_number', models.PositiveIntegerField(blank=True, null=True)),
                    ('sections', models.PositiveIntegerField(default=0)),
                    ('divisor', models.PositiveSmallIntegerField(default=1)),
                    ('penalty_laps', models.PositiveSmallIntegerField(default=0)),
                    ('lanes', models.JSONField(default=dict)),
                    ('best_lap_s', models.DecimalField(blank=True, decimal_places=3, max_digits=8, null=True)),
                    ('decided_by', models.CharField(blank=True, max_length=200)),
                ],
                options={
                    'ordering': ['sheet_id', models.OrderBy(models.F('place'), nulls_last=True), 'driver_name'],
                    'constraints': [models.UniqueConstraint(fields=('sheet', 'entry'), name='entry_once_per_result'), models.CheckConstraint(condition=models.Q(('divisor__gte', 1)), name='result_divisor_at_least_one')],
                },
            ),
            migrations.CreateModel(
                name='Season',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('club', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='inspection.club')),
                    ('public_id', inspection.models.public.PublicIdField(default=inspection.models.public.new_public_id, editable=False, max_length=10, unique=True)),
                    ('name', models.CharField(max_length=120, verbose_name='name')),
                    ('points', models.JSONField(default=list, help_text='From first place down; places beyond the list score nothing.', verbose_name='points by place')),
                    ('rounds_that_count', models.PositiveSmallIntegerField(blank=True, help_text='Empty: all of them.', null=True, verbose_name='best rounds that count')),
                    ('rounds_planned', models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='rounds planned')),
                    ('is_active', models.BooleanField(default=True, verbose_name='running')),
                ],
                options={
                    'ordering': ['-id'],
                    'constraints': [models.UniqueConstraint(fields=('club', 'name'), name='season_name_once_per_club')],
                },
            ),
            migrations.CreateModel(
                name='Round',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('season', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='rounds', to='racedesk.season')),
                    ('number', models.PositiveSmallIntegerField(verbose_name='round')),
                    ('race', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='rounds', to='racedesk.race')),
                ],
                options={
                    'ordering': ['season_id', 'number'],
                    'constraints': [models.UniqueConstraint(fields=('season', 'number'), name='round_number_once_per_season'), models.UniqueConstraint(fields=('season', 'race'), name='race_once_per_season')],
                },
            ),
            migrations.CreateModel(
                name='Stage',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('race', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='stages', to='racedesk.race')),
                    ('position', models.PositiveSmallIntegerField(default=1)),
                    ('kind', models.CharField(choices=[('qualifying', 'qualifying'), ('rotation', 'rotation'), ('main', 'main')], default='rotation', max_length=12)),
                    ('name', models.CharField(blank=True, max_length=80, verbose_name='name')),
                ],
                options={
                    'ordering': ['race_id', 'position'],
                    'constraints': [models.UniqueConstraint(fields=('race', 'position'), name='stage_position_once_per_race')],
                },
            ),
            migrations.CreateModel(
                name='Draw',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('stage', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='draws', to='racedesk.stage')),
                    ('public_id', inspection.models.public.PublicIdField(default=inspection.models.public.new_public_id, editable=False, max_length=10, unique=True)),
                    ('number', models.PositiveIntegerField(verbose_name='revision')),
                    ('preset', models.CharField(choices=[('usual', 'Usual order'), ('opponents', 'Opponents'), ('rest', 'Rest')], max_length=12)),
                    ('seed', models.PositiveBigIntegerField(verbose_name='seed')),
                    ('steps', models.PositiveIntegerField(default=0, verbose_name='budget of search steps')),
                    ('report', models.JSONField(default=dict, verbose_name='balance report')),
                    ('reason', models.CharField(blank=True, max_length=300, verbose_name='why drawn again')),
                    ('drawn_at', models.DateTimeField(default=django.utils.timezone.now)),
                    ('drawn_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ('superseded_at', models.DateTimeField(blank=True, null=True)),
                ],
                options={
                    'ordering': ['stage_id', '-number'],
                    'constraints': [models.UniqueConstraint(fields=('stage', 'number'), name='draw_number_once_per_stage'), models.UniqueConstraint(condition=models.Q(('superseded_at__isnull', True)), fields=('stage',), name='one_current_draw_per_stage')],
                },
            ),
            migrations.CreateModel(
                name='Heat',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('draw', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='heats', to='racedesk.draw')),
                    ('public_id', inspection.models.public.PublicIdField(default=inspection.models.public.new_public_id, editable=False, max_length=10, unique=True)),
                    ('number', models.PositiveSmallIntegerField(verbose_name='heat')),
                ],
                options={
                    'ordering': ['draw_id', 'number'],
                    'constraints': [models.UniqueConstraint(fields=('draw', 'number'), name='heat_number_once_per_draw')],
                },
            ),
            migrations.CreateModel(
                name='HeatEvent',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('heat', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='events', to='racedesk.heat')),
                    ('number', models.PositiveIntegerField()),
                    ('kind', models.CharField(max_length=20)),
                    ('at_ms', models.PositiveBigIntegerField(verbose_name='server clock, ms since 1970')),
                    ('lane', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inspection.lane')),
                    ('detail', models.JSONField(default=dict)),
                    ('reason', models.CharField(blank=True, max_length=300, verbose_name='reason')),
                    ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ('client_key', models.CharField(blank=True, max_length=40)),
                ],
                options={
                    'ordering': ['heat_id', 'number'],
                    'constraints': [models.UniqueConstraint(fields=('heat', 'number'), name='event_number_once_per_heat'), models.UniqueConstraint(condition=models.Q(('client_key', ''), _negated=True), fields=('heat', 'client_key'), name='heat_event_sent_once'), models.CheckConstraint(condition=models.Q(('number__gte', 1)), name='event_numbers_from_one')],
                },
            ),
            migrations.CreateModel(
                name='Seat',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('stage', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='seats', to='racedesk.stage')),
                    ('number', models.PositiveSmallIntegerField(verbose_name='number in the draw')),
                    ('entry', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='seats', to='racedesk.entry')),
                ],
                options={
                    'ordering': ['number'],
                    'constraints': [models.UniqueConstraint(fields=('stage', 'number'), name='seat_number_once_per_stage'), models.UniqueConstraint(condition=models.Q(('entry__isnull', False)), fields=('stage', 'entry'), name='entry_one_seat_per_stage')],
                },
            ),
            migrations.CreateModel(
                name='MarshalDuty',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('heat', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='marshals', to='racedesk.heat')),
                    ('post', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inspection.marshalpost')),
                    ('seat', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='duties', to='racedesk.seat')),
                ],
                options={
                    'ordering': ['heat_id', 'post__number'],
                    'constraints': [models.UniqueConstraint(fields=('heat', 'post'), name='post_once_per_heat'), models.UniqueConstraint(fields=('heat', 'seat'), name='marshal_once_per_heat')],
                },
            ),
            migrations.CreateModel(
                name='LaneAssignment',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('heat', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='lanes', to='racedesk.heat')),
                    ('lane', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inspection.lane')),
                    ('seat', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='assignments', to='racedesk.seat')),
                    ('drove', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='drives', to='inspection.driver')),
                    ('car', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inspection.car')),
                    ('build', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inspection.build')),
                ],
                options={
                    'ordering': ['heat_id', 'lane__number'],
                    'constraints': [models.UniqueConstraint(fields=('heat', 'lane'), name='lane_once_per_heat'), models.UniqueConstraint(fields=('heat', 'seat'), name='seat_once_per_heat')],
                },
            ),
            migrations.CreateModel(
                name='TechCall',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('race', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='tech_calls', to='racedesk.race')),
                    ('public_id', inspection.models.public.PublicIdField(default=inspection.models.public.new_public_id, editable=False, max_length=10, unique=True)),
                    ('first_places', models.PositiveSmallIntegerField(default=3, verbose_name='first places')),
                    ('drawn', models.PositiveSmallIntegerField(default=1, verbose_name='drawn besides')),
                    ('seed', models.CharField(max_length=40, verbose_name='seed')),
                    ('at', models.DateTimeField(default=django.utils.timezone.now)),
                    ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ],
                options={
                    'ordering': ['-at', '-id'],
                },
            ),
            migrations.CreateModel(
                name='CalledEntry',
                fields=[
                    ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                    ('call', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='entries', to='racedesk.techcall')),
                    ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='racedesk.entry')),
                    ('why', models.CharField(choices=[('place', 'by place'), ('drawn', 'drawn')], max_length=6)),
                    ('position', models.PositiveSmallIntegerField(default=0)),
                ],
                options={
                    'ordering': ['position'],
                    'constraints': [models.UniqueConstraint(fields=('call', 'entry'), name='entry_called_once')],
                },
            ),
        ]),
    ]
