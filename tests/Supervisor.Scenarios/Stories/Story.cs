using Supervisor.Scenarios.Checks;
using Supervisor.Scenarios.Stories.Extras;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stories;

/// <summary>One machine's life for a while, with all that can go wrong in it, decided by one seed.</summary>
public sealed class Story
{
    private readonly Dice _dice;
    private readonly StoryOptions _options;

    public Story(StoryOptions options, Tally tally)
    {
        ArgumentNullException.ThrowIfNull(options);
        _options = options;
        _dice = new Dice(options.Seed * 0x9E3779B97F4A7C15);

        // Every other life is the demo machine's, the others are invented; those with extras, which it has few of, mostly.
        var more = options.Scope == StoryScope.Machine ? new Dice((options.Seed + 1) * 0xD1B54A32D192ED03) : null;
        var isDemos = options.Axes == 4 && _dice.Chance(more is null ? 0.5 : 0.2);
        var machine = isDemos ? SimulatedWorld.DemoMachine() : new RandomMachines(_dice, more is null ? null : new MachineExtras(more)).Make(options.Axes);
        World = new StoryWorld(machine, options.Seed, tally);
        World.Checkers = Checkers.All(World);
        var lines = new LineTroubles(World, _dice);
        var drives = new DriveTroubles(World, _dice);
        var interlocks = new InterlockTroubles(World, _dice);
        var fingers = new Fingers(World, _dice);
        var people = new People(World, _dice, interlocks, fingers);
        var board = new BoardTroubles(World, _dice, people);

        // Some lives are calmer than others: what only shows after minutes of good work must have its minutes.
        var calm = _dice.Pick([1.0, 1.0, 4.0, 15.0]);
        Every(_dice.Between(0.2, 2), people.DoTheNextThing);
        Every(_dice.Between(3, 20), people.DoAnything);
        Every(30 * calm, people.DoManyThings);
        Every(15 * calm, people.Stop);
        Every(25 * calm, people.ComeAndGo);
        Every(40 * calm, people.FallSilent);
        Every(60 * calm, people.ChooseMode);
        Beat(TimeSpan.FromMilliseconds(250), people.Beat);
        Every(20 * calm, lines.SpoilWire);
        Every(40 * calm, lines.PullPlug);
        Every(60 * calm, drives.Restart);
        Every(40 * calm, drives.Trip);
        Every(120 * calm, drives.DipSupply);
        Every(60 * calm, drives.Jam);
        Every(300 * calm, drives.WearBrake);
        Every(30 * calm, drives.AnswerBusy);
        Every(20 * calm, interlocks.Open);
        Every(60 * calm, interlocks.OpenOneChannel);
        Every(20 * calm, interlocks.TripFromElsewhere);
        Every(30 * calm, interlocks.PressAButton);
        Every(20 * calm, fingers.LetGoOfEnabling);
        Every(120 * calm, drives.Heat);
        Every(600 * calm, drives.Exchange);
        Every(300 * calm, drives.EmptyBattery);
        Every(60 * calm, board.FillDisk);
        Every(90 * calm, board.FailDisk);
        Every(90 * calm, board.DoubtDisk);
        Every(60 * calm, board.JumpClock);
        Every(90 * calm, board.HoldUpCoordinator);
        Every(150 * calm, board.RestartSupervisor);
        Every(400 * calm, () =>
        {
            drives.DipAll();
            board.LoseSupervisorToADip();
        });
        if (more is not null)
        {
            Extras = new StoryExtras(this, more, people, interlocks, board, calm);
        }
    }

    public StoryWorld World { get; }

    /// <summary>What happens to the machine's extras; null in a story without them.</summary>
    public StoryExtras? Extras { get; }

    /// <summary>Lets it happen, up to its end or the first finding.</summary>
    public void Run()
    {
        var end = World.Queue.Now + _options.Length;
        World.Start();
        World.Queue.RunUntil(() => World.Findings.Count > 0, end - World.Queue.Now);
        World.Tally.Add("exchanges", World.Exchanges);
        World.Tally.Add("disk: commits that failed", World.Disk.Failures);
        World.Tally.Add("disk: records stored", World.Disk.LastSequence);
        if (World.Supervisor is { } supervisor)
        {
            World.CountWireFaults(supervisor);
        }
    }

    /// <summary>The checker of a kind.</summary>
    public T Checker<T>()
        where T : Checker => World.Checkers.OfType<T>().Single();

    private void Beat(TimeSpan interval, Action beat) => World.Queue.After(interval, () =>
    {
        beat();
        Beat(interval, beat);
    });

    /// <summary>Lets something happen at random, so many seconds apart in the long run.</summary>
    public void Every(double meanSeconds, Action happen)
    {
        var mean = TimeSpan.FromSeconds(meanSeconds);
        World.Queue.After(_dice.Wait(mean), Again);

        void Again()
        {
            happen();
            World.Queue.After(_dice.Wait(mean), Again);
        }
    }
}
