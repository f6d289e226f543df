using Supervisor.History;
using Supervisor.History.Entries;
using Supervisor.History.Writing;
using Supervisor.Simulation.Plant;

namespace Supervisor.Scenarios.Stories;

/// <summary>One supervisor's history: the real queue and the real writer's steps, run by the event queue on a disk that outlives them.</summary>
public sealed class StoryHistory
{
    // Small, so that a disk that fails for seconds makes it run over.
    private const int Capacity = 64;
    private static readonly TimeSpan StopPatience = TimeSpan.FromSeconds(5);

    private readonly StoryWorld _world;
    private readonly RecordQueue _queue = new(Capacity);
    private readonly WriterSteps _steps;
    private readonly HistoryOptions _options;
    private readonly SeededDraw _draw;
    private readonly List<ToldRecord> _told = [];
    private bool _isIdle;
    private bool _isLingering;
    private int _turn;
    private bool _isGone;

    public StoryHistory(StoryWorld world, ulong seed)
    {
        _world = world;
        _draw = new SeededDraw(seed);
        _options = new HistoryOptions { Path = "simulated", BootId = "simulated", Clock = world.Clock.Read, Pause = _ => { } };
        _steps = new WriterSteps(_options, _queue, () => world.Disk.Open(this));
        world.Queue.After(TimeSpan.Zero, Step);
    }

    /// <summary>Records handed over whose end is not known yet.</summary>
    public IReadOnlyList<ToldRecord> Waiting => _told;

    /// <summary>What it says of itself.</summary>
    public HistoryHealth Health => _steps.Health;

    /// <summary>Records it could not take, or gave up.</summary>
    public long Lost { get; private set; }

    /// <summary>True once the process that ran it is gone, or it has ended.</summary>
    public bool IsGone => _isGone;

    /// <summary>Hands a record over, as the daemon's journal does.</summary>
    public void Put(HistoryRecord record)
    {
        var waiter = new TaskCompletionSource<long>();
        var told = new ToldRecord(record, waiter.Task, _world.Queue.Now);
        foreach (var checker in _world.Checkers)
        {
            checker.OnTold(told);
        }

        // The daemon waits for none of them.
        if (_queue.TryPut(new PendingRecord(record, waiter, isPatient: true)))
        {
            _told.Add(told);
        }
        else
        {
            Lost++;
        }

        if (_isIdle || (_isLingering && _queue.HasPressing))
        {
            GoOn();
        }
    }

    /// <summary>Takes no more, and writes what is left while it may.</summary>
    public void Stop(TimeSpan at)
    {
        Put(new EndRecord(at, "the story says so"));
        _steps.BeginStop();
        _world.Queue.After(StopPatience, Kill);
    }

    /// <summary>The process is gone from this instant.</summary>
    public void Kill()
    {
        if (!_isGone)
        {
            _isGone = true;
            _world.Disk.DropWriter(this);
        }
    }

    /// <summary>Takes in which records have ended.</summary>
    private void Look()
    {
        for (var i = 0; i < _told.Count; i++)
        {
            var told = _told[i];
            if (told.Kept.IsCompleted)
            {
                _told.RemoveAt(i--);
                Lost += told.Kept.Result == 0 ? 1 : 0;
                foreach (var checker in _world.Checkers)
                {
                    checker.OnAcknowledged(told, told.Kept.Result);
                }
            }
        }
    }

    private void GoOn()
    {
        (_isIdle, _isLingering) = (false, false);
        _world.Queue.After(TimeSpan.Zero, Step);
    }

    private void Lingered(int turn)
    {
        if (_isLingering && turn == _turn)
        {
            GoOn();
        }
    }

    private void Step()
    {
        if (!_isGone)
        {
            Take(_steps.Next());
            Look();
        }
    }

    private void Take(WriterStep step)
    {
        switch (step)
        {
            case WriterStep.Wait:
                _isIdle = true;
                break;
            case WriterStep.Linger:
                _isLingering = true;
                var turn = ++_turn;
                _world.Queue.After(_steps.LingerTime, () => Lingered(turn));
                break;
            case WriterStep.Pause:
                _world.Queue.After(_options.RetryInterval, Step);
                break;
            case WriterStep.End:
                _steps.GiveUp(because: null);
                Kill();
                break;
            default:
                // A commit takes as long as the card likes.
                _world.Queue.After(TimeSpan.FromMilliseconds(1 + (_draw.NextFraction() * 30)), Step);
                break;
        }
    }
}

/// <summary>A record as it was handed over.</summary>
/// <param name="Record">What was told.</param>
/// <param name="Kept">Ends with its number once it is on disk, or with 0 when it is lost.</param>
/// <param name="At">When.</param>
public sealed record ToldRecord(HistoryRecord Record, Task<long> Kept, TimeSpan At);
