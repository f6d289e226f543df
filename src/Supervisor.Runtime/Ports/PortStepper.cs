using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Drives.Coding;
using Supervisor.Drives.Exchange;
using Supervisor.Runtime.Axes;
using Supervisor.Runtime.Inputs;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Modules;
using Supervisor.Runtime.Stops;
using Supervisor.Runtime.Zones;

namespace Supervisor.Runtime.Ports;

/// <summary>
/// The logic of one port: whose turn it is on the line. Look at the latch; stops first, gravity-loaded axes before others; then outputs of
/// modules that are ordered otherwise than they are; then every axis its exchange and every module its reading; then second exchanges and slow requests as far as the cycle allows; then wait for the next cycle. No thread, no
/// clock, no I/O, nothing allocated once it runs.
/// </summary>
public sealed partial class PortStepper
{
    // The latch is looked at this often while nothing is on the line.
    private static readonly TimeSpan LookInterval = TimeSpan.FromMilliseconds(2);
    private static readonly TimeSpan TimesInterval = TimeSpan.FromSeconds(1);
    private const int MoreExchangesPerCycle = 3;

    private readonly MachineBoard _board;
    private readonly PortDefinition _port;
    private readonly PortChannel _channel;
    private readonly RtuMaster _master;
    private readonly Transaction _transaction = new();
    private readonly Axis[] _axes;
    private readonly Axis[] _stopOrder;
    private readonly InterlockWatch _interlocks;
    private readonly ModulePoll _modules;
    private readonly ZoneWatch _zones;
    private readonly ExchangeTimes _times = new();
    private readonly CycleLateness _lateness = new();
    private readonly LineQuality _quality;
    private readonly int _index;
    private readonly int[] _tripsSeen;
    private TimeSpan _timesTellAt;
    private TimeSpan _missingAskedAt;

    private bool _cycling;
    private TimeSpan _cycleAt;
    private uint _cycle;
    private TimeSpan _numberedAt;
    private int _generation = -1;
    private int _more;
    private int _slow;
    private Axis? _asked;
    private AxisRequest _request;
    private PortSnapshot _snapshot;

    /// <param name="board">What all ports share.</param>
    /// <param name="port">Index of the port in the machine file.</param>
    public PortStepper(MachineBoard board, int port)
    {
        ArgumentNullException.ThrowIfNull(board);
        _board = board;
        _index = port;
        _port = board.Machine.Ports[port];
        _channel = board.Ports[port];
        Line = PortLine.Of(_port);
        _master = new RtuMaster(Line);
        var plans = new Dictionary<DriveDefinition, DriveCoding>();
        var axes = new List<Axis>();
        for (var index = 0; index < board.Machine.Axes.Count; index++)
        {
            var definition = board.Machine.Axes[index];
            if (definition.Port == port)
            {
                if (!plans.TryGetValue(definition.Drive, out var coding))
                {
                    plans[definition.Drive] = coding = DriveCoding.Create(new ExchangePlan(definition.Drive));
                }

                axes.Add(new Axis(board, index, coding));
            }
        }

        _axes = [.. axes];
        _stopOrder = [.. axes.OrderByDescending(axis => axis.Definition.GravityLoaded)];
        _interlocks = new InterlockWatch(board, axes);
        _modules = new ModulePoll(board, port);
        _quality = new LineQuality(_port.ErrorRate, _axes.Length + _modules.Count);
        _zones = new ZoneWatch(board, axes);
        _tripsSeen = new int[board.Causes.Count];
    }

    /// <summary>Settings of the line.</summary>
    public LineSettings Line { get; }

    /// <summary>The asking side of the line, shared with the driver that runs its transactions.</summary>
    public RtuMaster Master => _master;

    /// <summary>Axes of the port, in the file's order.</summary>
    public IReadOnlyList<Axis> Axes => _axes;

    /// <summary>
    /// The transaction of the last step may still begin: it is a stop, or nothing was tripped since it was chosen. Between the choice and the
    /// first byte lies the silence of the line, and whatever kept the thread from running; looked at when both are over.
    /// </summary>
    public bool IsStillWanted => (_asked is not null && _request == AxisRequest.Stop) || _board.Latch.Generation == _generation;

    /// <summary>What to do next.</summary>
    public PortStep Next(TimeSpan now)
    {
        // What trips the latch here comes before the look at it: no frame of this step may still move what it stops.
        _interlocks.Judge(now);
        _modules.Judge(now);
        foreach (var axis in _axes)
        {
            axis.LookAtJog(now);
            axis.PassDeadline(now);
            axis.TellUntold();
            axis.LookAtOutputs(now);
        }

        LookAtLatch(now);
        TakeCommands(now);

        // What was just taken is looked at before its first frame, and what that stops in a group too.
        _zones.Look(now);
        LookAtLatch(now);
        Beat(now);
        if (!_open)
        {
            return NextOpening(now);
        }

        return NextStop(now) ?? NextModuleOutput(now) ?? NextExchange(now) ?? NextMore(now) ?? NextSlow(now) ?? Wait(NextCycleAt, now);
    }

    /// <summary>The transaction of the last step has ended.</summary>
    public void Completed(TimeSpan now)
    {
        var axis = _asked;
        if (axis is null && !_modules.IsAsked)
        {
            throw new InvalidOperationException("No transaction was asked for");
        }

        _asked = null;
        if (_transaction.Result == TransactionResult.Withdrawn)
        {
            _modules.PutBack();
            return;
        }

        if (_transaction.Result == TransactionResult.LinkGone)
        {
            axis?.TakeSilence(_request, _transaction, now);
            LinkGone(now);
            return;
        }

        _minutes.Note(IsFailed(_transaction.Result), now);
        LookForOwnRequests(now);
        if (!IsFailed(_transaction.Result))
        {
            _snapshot.Exchanges++;
            _reopenAfter = FirstReopen;
            _times.Add(_transaction.EndedAt - _transaction.BegunAt);
        }
        else
        {
            _snapshot.Errors++;
        }

        // Repeats stay within the cycle.
        var retries = _board.Latch.Generation != _generation || now >= NextCycleAt ? 0 : _port.Retries;
        if (axis is null)
        {
            _missingAskedAt = _modules.IsAskedMissing ? now : _missingAskedAt;
            var module = _modules.AskedNumber;
            _modules.Completed(_transaction, retries, now);
            NoteQuality(module, now);
            return;
        }

        _missingAskedAt = axis.IsMissing ? now : _missingAskedAt;
        var read = _request is AxisRequest.Read or AxisRequest.WriteRead;
        var seen = axis.FreshAt;
        axis.Completed(_request, _transaction, retries, now);
        NoteQuality(axis, now);
        if (read && axis.FreshAt != seen)
        {
            _interlocks.Look(axis, now);
        }
    }

    /// <summary>The stop frame of one axis, gravity-loaded ones first, for a port that ends by an exception: nothing else is asked after it.</summary>
    /// <param name="turn">From 0 to the number of axes.</param>
    /// <param name="now">Monotonic time.</param>
    internal Transaction LastStop(int turn, TimeSpan now)
    {
        var transaction = new Transaction();
        _stopOrder[turn].AskLastStop(transaction, now);
        transaction.ReplyTimeout = _port.ResponseTimeout;
        transaction.Urgent = true;
        return transaction;
    }

    private TimeSpan NextCycleAt => _cycleAt + _port.Cycle;

    private static PortStep Wait(TimeSpan until, TimeSpan now)
    {
        var look = now + LookInterval;
        return new PortStep(PortStepKind.Wait, until < look ? until : look, null);
    }

    private void LookAtLatch(TimeSpan now)
    {
        var generation = _board.Latch.Generation;
        if (generation == _generation)
        {
            return;
        }

        _generation = generation;
        var tripped = 0UL;
        for (var cause = 0; cause < _tripsSeen.Length; cause++)
        {
            var trips = _board.Latch.TripCount(cause);
            if (trips != _tripsSeen[cause])
            {
                _tripsSeen[cause] = trips;
                tripped |= 1UL << cause;
            }
        }

        var standing = _board.Latch.Standing();
        foreach (var axis in _axes)
        {
            axis.TakeCauses(standing, tripped, now);
        }
    }

    private void TakeCommands(TimeSpan now)
    {
        while (_channel.Reports.Free >= Axis.ReportsOfACommand + (Axis.ReportsOfAnAxis * _axes.Length) && _channel.Mailbox.TryRead(out var command))
        {
            foreach (var axis in _axes)
            {
                if (axis.Index == command.Axis)
                {
                    if (command.Kind == AxisCommandKind.Reset)
                    {
                        _quality.Reset(Array.IndexOf(_axes, axis));
                    }

                    axis.Give(command, now);
                }
            }
        }
    }

    private void Beat(TimeSpan now)
    {
        if (now >= _timesTellAt)
        {
            _timesTellAt = now + TimesInterval;
            TellQuality(now);
            _snapshot.ExchangeP50 = _times.Percentile(0.5);
            _snapshot.ExchangeP99 = _times.Percentile(0.99);
            (_snapshot.OverrunsLastMinute, _snapshot.WorstLateLastMinute) = _lateness.Of(1, now);
            (_snapshot.OverrunsLastHour, _snapshot.WorstLateLastHour) = _lateness.Of(60, now);
        }

        _snapshot.Overruns = _lateness.Skipped;
        _snapshot.WorstLate = _lateness.Worst;
        _snapshot.FaultsLost = FaultsLost();
        _snapshot.At = now;
        _snapshot.Open = _open;
        _channel.Port.Write(_snapshot);
    }

    private long FaultsLost()
    {
        var lost = _modules.FaultsLost + _faultsLost;
        foreach (var axis in _axes)
        {
            lost += axis.FaultsLost;
        }

        return lost;
    }
}
