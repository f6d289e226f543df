using Supervisor.Bus.Rtu;
using Supervisor.Runtime.Outputs;
using Supervisor.Runtime.Ports;

namespace Supervisor.Runtime.Modules;

/// <summary>The modules of one port: whose turn it is among them.</summary>
internal sealed class ModulePoll
{
    // Writes and readings back of outputs that may go before the exchanges: a drop of power must not wait for a cycle, nor may a crowd of outputs take it whole.
    private const int MostOutputRequestsPerCycle = 8;

    private readonly ModuleStation[] _stations;
    private int _outputRequests;
    private ModuleStation? _asked;
    private ModuleRequest _request;

    public ModulePoll(MachineBoard board, int port)
    {
        _stations = [.. Enumerable.Range(0, board.Machine.Modules.Count)
            .Where(module => board.Machine.Modules[module].Port == port)
            .Select(module => new ModuleStation(board, module, OutputsOf(board, module)))];
    }

    /// <summary>The transaction on the line is a module's.</summary>
    public bool IsAsked => _asked is not null;

    /// <summary>Modules of the port.</summary>
    public int Count => _stations.Length;

    /// <summary>Number of the module on the line among those of the port.</summary>
    public int AskedNumber => Array.IndexOf(_stations, _asked);

    /// <summary>The module is met and answers.</summary>
    public bool IsOnline(int number) => _stations[number].IsOnline;

    /// <summary>An exchange of a module was counted; see <see cref="ModuleStation.NoteQuality"/>.</summary>
    public void NoteQuality(int number, double percent, ErrorLevel level, ErrorLevel reached, TimeSpan now) => _stations[number].NoteQuality(percent, level, reached, now);

    /// <summary>The module on the line did not answer the last time.</summary>
    public bool IsAskedMissing => _asked!.IsMissing;

    /// <summary>Faults that were not told because nobody took them.</summary>
    public long FaultsLost
    {
        get
        {
            var lost = 0L;
            foreach (var station in _stations)
            {
                lost += station.FaultsLost;
            }

            return lost;
        }
    }

    public void Judge(TimeSpan now)
    {
        foreach (var station in _stations)
        {
            station.Judge(now);
        }
    }

    public void BeginCycle(TimeSpan now)
    {
        _outputRequests = 0;
        foreach (var station in _stations)
        {
            station.BeginCycle(now);
        }
    }

    public void Reopened(TimeSpan now)
    {
        foreach (var station in _stations)
        {
            station.Reopened(now);
        }
    }

    public void LoseLink()
    {
        _asked = null;
        foreach (var station in _stations)
        {
            station.LoseLink();
        }
    }

    /// <summary>The module whose outputs are to be set, or read back after they were; null when there is none.</summary>
    public ModuleStation? NextOutput(TimeSpan now)
    {
        ModuleStation? next = null;
        if (_outputRequests >= MostOutputRequestsPerCycle)
        {
            return null;
        }

        foreach (var station in _stations)
        {
            if (station.IsOutputDue(now) && (next is null || station.AskedAt < next.AskedAt))
            {
                next = station;
            }
        }

        return next;
    }

    /// <summary>Of the modules with a request due in this cycle the one that may be asked now and whose turn it is; else the time until the first may.</summary>
    /// <param name="master">Keeps requests apart that a late reply could be taken for.</param>
    /// <param name="transaction">Filled in to find out.</param>
    /// <param name="missingFirst">One that did not answer may go first.</param>
    /// <param name="now">Monotonic time.</param>
    /// <param name="start">Made earlier where a module may be asked earlier.</param>
    public ModuleStation? NextDue(RtuMaster master, Transaction transaction, bool missingFirst, TimeSpan now, ref TimeSpan start)
    {
        ModuleStation? next = null;
        foreach (var station in _stations)
        {
            if (!station.IsDue || (next is not null && !GoesBefore(station.IsMissing, station.AskedAt, next.IsMissing, next.AskedAt, missingFirst)))
            {
                continue;
            }

            station.AskDue(transaction, now);
            transaction.ReplyTimeout = station.ReplyTimeout;
            var at = master.EarliestStart(transaction, now);
            next = at <= now ? station : next;
            start = at < start ? at : start;
        }

        return next;
    }

    /// <summary>Fills in the due request of a module, which then is on the line.</summary>
    public void AskDue(ModuleStation station, Transaction transaction, TimeSpan now) => Ask(station, station.AskDue(transaction, now), transaction);

    /// <summary>Fills in what concerns the outputs of a module, which then is on the line.</summary>
    public void AskOutput(ModuleStation station, Transaction transaction) => Ask(station, station.AskOutput(transaction), transaction);

    /// <summary>The module's turn is not yet: another request goes first.</summary>
    public void PutBack() => _asked = null;

    /// <summary>The transaction on the line has ended.</summary>
    public void Completed(Transaction transaction, int retries, TimeSpan now)
    {
        var station = _asked!;
        _asked = null;
        _outputRequests += _request is ModuleRequest.Output or ModuleRequest.Confirm ? 1 : 0;
        station.Completed(_request, transaction, retries, now);
    }

    /// <summary>
    /// Those that answer before those that did not, as each of these costs a time-out; among equals who waited longest, so that a cycle
    /// that is too short for all still reaches everyone. Once a cycle one that did not answer may go first, so that it is not forgotten.
    /// </summary>
    public static bool GoesBefore(bool isMissing, TimeSpan askedAt, bool isOtherMissing, TimeSpan otherAskedAt, bool missingFirst) =>
        isMissing == isOtherMissing ? askedAt < otherAskedAt : isMissing == missingFirst;

    private void Ask(ModuleStation station, ModuleRequest request, Transaction transaction)
    {
        (_asked, _request) = (station, request);
        transaction.ReplyTimeout = station.ReplyTimeout;
    }

    private static IReadOnlyList<(OutputCell Cell, int Bit)> OutputsOf(MachineBoard board, int module) =>
        [.. Enumerable.Range(0, board.Outputs.Places.Count)
            .Where(place => board.Outputs.Places[place].Module?.Module == module)
            .Select(place => (board.Outputs.Cells[place], board.Outputs.Places[place].Module!.Bit))];
}
