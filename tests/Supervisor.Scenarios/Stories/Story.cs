using Supervisor.Scenarios.Checks;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stories;

/// <summary>One machine's life for a while, with all that can go wrong in it, decided by one seed.</summary>
public sealed class Story
{
    private readonly Dice _dice;
    private readonly People _people;
    private readonly StoryOptions _options;

    public Story(StoryOptions options, Tally tally)
    {
        ArgumentNullException.ThrowIfNull(options);
        _options = options;
        _dice = new Dice(options.Seed * 0x9E3779B97F4A7C15);

        // Every other life is the demo machine's, the others are invented.
        var machine = options.Axes == 4 && _dice.Chance(0.5) ? SimulatedWorld.DemoMachine() : new RandomMachines(_dice).Make(options.Axes);
        World = new StoryWorld(machine, options.Seed, tally);
        World.Checkers = Checkers.All(World);
        var lines = new LineTroubles(World, _dice);
        var drives = new DriveTroubles(World, _dice);
        var interlocks = new InterlockTroubles(World, _dice);
        _people = new People(World, _dice, interlocks);

        // Some lives are calmer than others: what only shows after minutes of good work must have its minutes.
        var calm = _dice.Pick([1.0, 1.0, 4.0, 15.0]);
        Every(_dice.Between(0.2, 2), _people.DoTheNextThing);
        Every(_dice.Between(3, 20), _people.DoAnything);
        Every(30 * calm, _people.DoManyThings);
        Every(15 * calm, _people.Stop);
        Every(25 * calm, _people.ComeAndGo);
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
        Every(60 * calm, FillDisk);
        Every(150 * calm, RestartSupervisor);
    }

    public StoryWorld World { get; }

    /// <summary>Lets it happen, up to its end or the first finding.</summary>
    public void Run()
    {
        var end = World.Queue.Now + _options.Length;
        World.Start();
        World.Queue.RunUntil(() => World.Findings.Count > 0, end - World.Queue.Now);
        World.Tally.Add("exchanges", World.Exchanges);
        World.Tally.Add("told while the disk was full", World.Journal.Lost);
    }

    /// <summary>The checker of a kind.</summary>
    public T Checker<T>()
        where T : Checker => World.Checkers.OfType<T>().Single();

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

    private void FillDisk()
    {
        World.Happen("disk filled");
        World.Journal.IsFull = true;
        World.Queue.After(_dice.Seconds(1, 30), () => World.Journal.IsFull = false);
    }

    /// <summary>The supervisor ends in order or crashes, and another takes over the drives as they are.</summary>
    private void RestartSupervisor()
    {
        if (World.Supervisor is not { } supervisor || supervisor.Coordinator.ShutDown.IsBegun)
        {
            return;
        }

        var isCrash = _dice.Chance(0.5);
        World.Happen(isCrash ? "supervisor crashed" : "supervisor shut down");
        if (isCrash)
        {
            End(supervisor);
            return;
        }

        supervisor.Coordinator.BeginShutDown(World.Queue.Now);
        AwaitShutDown(supervisor);
    }

    private void AwaitShutDown(SupervisorProcess supervisor)
    {
        if (supervisor.Coordinator.ShutDown is { IsStopped: false, IsOverdue: false })
        {
            World.Queue.After(TimeSpan.FromMilliseconds(20), () => AwaitShutDown(supervisor));
            return;
        }

        supervisor.Coordinator.Close();
        End(supervisor);
    }

    private void End(SupervisorProcess supervisor)
    {
        if (World.Supervisor == supervisor)
        {
            World.Kill();
            _people.Disconnect();
            World.Queue.After(_dice.Chance(0.5) ? _dice.Seconds(0.02, 0.5) : _dice.Seconds(0.5, 15), World.Start);
        }
    }
}
