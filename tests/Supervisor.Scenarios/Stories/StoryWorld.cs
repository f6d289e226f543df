using Supervisor.Configuration.Machines;
using Supervisor.History.Entries;
using Supervisor.Machine.Api;
using Supervisor.Runtime.Axes;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Parameters;
using Supervisor.Scenarios.Checks;
using Supervisor.Scenarios.Stories.Extras;
using Supervisor.Scenarios.World;
using Supervisor.Simulation.Drives;
using Supervisor.Simulation.Wires;

namespace Supervisor.Scenarios.Stories;

/// <summary>A whole machine in simulated time with its checkers: drives and plants that live on, and one supervisor after the other over them.</summary>
public sealed partial class StoryWorld
{
    private static readonly TimeSpan OfLate = TimeSpan.FromSeconds(5);
    private readonly TimeSpan[] _silentAt;
    private readonly ulong _seed;
    private readonly RowsKept _rowsKept;
    private long _exchangesBefore;

    public StoryWorld(MachineDefinition machine, ulong seed, Tally tally)
    {
        Machine = machine;
        Tally = tally;
        _seed = seed;
        _rowsKept = new RowsKept(machine.Axes.Count);
        Plant = new SimulatedMachine(machine, seed);
        _lastGiven = new GivenCommand?[machine.Axes.Count];
        _silentAt = new TimeSpan[machine.Axes.Count];
        Array.Fill(_silentAt, TimeSpan.MinValue / 2);
        Faults = new WireFaults[machine.Ports.Count];
        Array.Fill(Faults, WireFaults.None);
        Lines = [.. machine.Ports.Select((_, port) => new LineCondition(this, port))];
        Journal = new StoryJournal(this);
        Clock = new StoryClock(this);
        Disk = new StoryDisk(seed);
        Notes = new NoteFile(this);
        Proofs = new ProofFile(this);
        Loads = new LoadFile(this);
        Disk.Stored = row => Tell(checker => checker.OnStored(row));
        Disk.Clashed = sequence => Tell(checker => checker.OnClash(sequence));
        foreach (var drive in Plant.Drives)
        {
            drive.Advance(Queue.Now);
        }
    }

    public EventQueue Queue { get; } = new();

    public MachineDefinition Machine { get; }

    public SimulatedMachine Plant { get; }

    public Tally Tally { get; }

    public StoryJournal Journal { get; }

    /// <summary>The board's clocks.</summary>
    public StoryClock Clock { get; }

    /// <summary>A planted bug: the machine's zones never reach a supervisor.</summary>
    public bool HidesZones { get; set; }

    /// <summary>Where records stay.</summary>
    public StoryDisk Disk { get; }

    /// <summary>The file with the axes' zeros.</summary>
    public NoteFile Notes { get; }

    /// <summary>The file with the times of the brakes' proofs.</summary>
    public ProofFile Proofs { get; }

    /// <summary>The file with the loads that have begun.</summary>
    public LoadFile Loads { get; }

    /// <summary>The history of the supervisor that runs, or ran last.</summary>
    public StoryHistory? History { get; private set; }

    /// <summary>Called with every row that an axis took, after the checkers.</summary>
    public Action<int, AxisRow>? RowSeen { get; set; }

    /// <summary>What happened last.</summary>
    public Diary Diary { get; } = new();

    /// <summary>How good each wire is at present.</summary>
    public WireFaults[] Faults { get; }

    /// <summary>What the checkers may expect of each line.</summary>
    public IReadOnlyList<LineCondition> Lines { get; }

    public IReadOnlyList<Checker> Checkers { get; set; } = [];

    /// <summary>What was found, in order.</summary>
    public List<Finding> Findings { get; } = [];

    /// <summary>The supervisor that runs; null between two.</summary>
    public SupervisorProcess? Supervisor { get; private set; }

    /// <summary>Transactions that were answered, of all supervisors so far.</summary>
    public long Exchanges => _exchangesBefore + CurrentExchanges();

    /// <summary>A seed's worth of a supervisor: first the wires, then it starts.</summary>
    public void Start()
    {
        var seed = _seed + (ulong)Queue.Now.Ticks;
        var supervisor = new SupervisorProcess(Queue, HidesZones ? Machine with { Zones = [] } : Machine, Plant, Journal, seed, Notes.Read(), Loads.Read(), Proofs.HeldLoads()) { Coordinated = Coordinated };
        Supervisor = supervisor;
        History = new StoryHistory(this, seed);
        for (var port = 0; port < supervisor.Ports.Count; port++)
        {
            supervisor.Ports[port].Wire.Faults = Faults[port];
            supervisor.Ports[port].FrameBegun = Frame;
            supervisor.Ports[port].TransactionEnded = TransactionEnded;
        }

        foreach (var axis in supervisor.Axes)
        {
            axis.RowTaken = RowTaken;
        }

        _rowsKept.Begin();
        foreach (var checker in Checkers)
        {
            checker.OnStart();
        }

        Diary.Note(Queue.Now, "a supervisor starts");
        History.Put(new StartRecord(Queue.Now, "0", Machine.Name, ""));
        supervisor.Start();
        Notes.Keep(supervisor);
        Proofs.Keep(supervisor);
    }

    /// <summary>The supervisor is gone. An orderly end has closed its coordinator before; a crash has not, and its clients never hear an answer.</summary>
    public void Kill()
    {
        if (Supervisor is not { } supervisor)
        {
            return;
        }

        _exchangesBefore += CurrentExchanges();
        CountWireFaults(supervisor);
        supervisor.Kill();
        Supervisor = null;
        LookAtCommands();
        Orphan();
        foreach (var checker in Checkers)
        {
            checker.OnKill();
        }

        Queue.After(SupervisorProcess.CoordinatorPeriod, LookAtAbsence);
    }

    /// <summary>Tells the checkers of parameters that are about to be read or loaded.</summary>
    public void Posted(int axis, ParameterJob job)
    {
        Diary.Note(Queue.Now, $"{Machine.Axes[axis].Name} {(job.Writes ? "load" : "reading")} of parameters posted:", job.Entries.Count);
        Tell(checker => checker.OnPosted(axis, job));
    }

    /// <summary>A planted bug: axes are judged by other rows than those they took.</summary>
    public Func<AxisRow, AxisRow>? PlantedRow { get; set; }

    public AxisSnapshot Snapshot(int axis) => Supervisor!.Board.Axes[axis].Read();

    /// <summary>The drive of an axis, as it is now.</summary>
    public SimulatedDrive Drive(int axis)
    {
        var drive = Plant.Drives[axis];
        drive.Advance(Queue.Now);
        return drive;
    }

    /// <summary>When a drive last was silent because it started anew.</summary>
    public TimeSpan SilentAt(int axis) => _silentAt[axis];

    /// <summary>When the coordinator last got no time.</summary>
    public TimeSpan HeldUpAt { get; private set; } = TimeSpan.MinValue / 2;

    /// <summary>How long the coordinator got no time, up to now or of late.</summary>
    public TimeSpan HeldUpFor { get; private set; }

    public void Find(Finding finding) => Findings.Add(finding);

    /// <summary>Counts something that befalls the machine, and notes it.</summary>
    public void Happen(string what, object? about = null)
    {
        Tally.Add(what);
        Diary.Note(Queue.Now, what, about);
    }

    /// <summary>Counts what the wires of a supervisor spoilt.</summary>
    public void CountWireFaults(SupervisorProcess supervisor)
    {
        ArgumentNullException.ThrowIfNull(supervisor);
        foreach (var port in supervisor.Ports)
        {
            var counts = port.Wire.Counts;
            Tally.Add("wire: request lost", counts.LostRequests);
            Tally.Add("wire: reply lost", counts.LostReplies);
            Tally.Add("wire: reply corrupted", counts.Corrupted);
            Tally.Add("wire: reply cut", counts.Cut);
            Tally.Add("wire: reply delayed", counts.Delayed);
            Tally.Add("wire: reply duplicated", counts.Duplicated);
        }
    }

    private void Tell(Action<Checker> tell)
    {
        foreach (var checker in Checkers)
        {
            tell(checker);
        }
    }

    private void Frame(TimeSpan at, int port, ReadOnlySpan<byte> bytes)
    {
        foreach (var checker in Checkers)
        {
            checker.OnFrame(port, bytes);
        }
    }

    private void TransactionEnded(int port)
    {
        foreach (var checker in Checkers)
        {
            checker.OnTransaction(port);
        }
    }

    private void RowTaken(Axis axis, AxisRow row)
    {
        Tally.Add($"row {row.From} {row.On}");
        if (_rowsKept.Take(axis, PlantedRow?.Invoke(row) ?? row) is { } wrong)
        {
            Tally.Add($"not kept: {wrong}");
        }

        Diary.Note(Queue.Now, Machine.Axes[axis.Index].Name, row);
        foreach (var checker in Checkers)
        {
            checker.OnRow(axis.Index, row);
        }

        RowSeen?.Invoke(axis.Index, row);
        if ((row.Effects & AxisEffects.Take) != 0)
        {
            var given = GivenAs(axis.CommandId);
            foreach (var checker in Checkers)
            {
                checker.OnTaken(axis.Index, row, given);
            }
        }
    }

    private void LookAtAbsence()
    {
        if (Supervisor is not null)
        {
            return;
        }

        Advance();
        foreach (var checker in Checkers)
        {
            checker.OnAbsence();
        }

        Queue.After(SupervisorProcess.CoordinatorPeriod, LookAtAbsence);
    }

    private void Advance()
    {
        foreach (var line in Plant.Lines)
        {
            line.Advance(Queue.Now);
        }

        foreach (var line in Lines)
        {
            line.Look();
        }

        for (var axis = 0; axis < _silentAt.Length; axis++)
        {
            _silentAt[axis] = Plant.Drives[axis].IsSilent ? Queue.Now : _silentAt[axis];
        }
    }

    private void Coordinated()
    {
        NoteHoldUp();
        Advance();
        LookAtCommands();
        foreach (var checker in Checkers)
        {
            checker.OnStep();
        }
    }

    private void NoteHoldUp()
    {
        if (Supervisor!.IsHeldUp)
        {
            HeldUpAt = Queue.Now;
            HeldUpFor += SupervisorProcess.CoordinatorPeriod;
        }
        else if (Queue.Now - HeldUpAt > OfLate)
        {
            HeldUpFor = TimeSpan.Zero;
        }
    }

    private long CurrentExchanges()
    {
        var count = 0L;
        for (var port = 0; port < (Supervisor?.Board.Ports.Count ?? 0); port++)
        {
            count += Supervisor!.Board.Ports[port].Port.Read().Exchanges;
        }

        return count;
    }
}
