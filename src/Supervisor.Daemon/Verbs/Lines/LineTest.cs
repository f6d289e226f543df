using Supervisor.Bus.Rtu;
using Supervisor.Daemon.Verbs.Diagnose;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Verbs.Lines;

/// <summary>
/// Has one device echo patterns, many times, and counts what becomes of them: function 8, which changes nothing. A device without it is read one
/// register instead. No register is written.
/// </summary>
/// <param name="plan">What to do.</param>
/// <param name="places">The computer.</param>
/// <param name="show">Told before each exchange: how many were made, how many were spoilt.</param>
public sealed class LineTest(LineTestPlan plan, DiagnosisPlaces places, Action<int, int>? show = null)
{
    /// <summary>Few edges, most edges, and both halves against each other: what drifting clocks, weak bias and reflections mind most. Common practice, no source.</summary>
    private static readonly ushort[] WorstCases = [0x0000, 0xFFFF, 0x5555, 0xAAAA, 0x00FF, 0xFF00, 0x0F0F, 0x8001];

    private const int Tries = 4;
    private const int HopelessInARow = 50;
    private const int GraceFactor = 5;

    private static readonly TimeSpan LeastGrace = TimeSpan.FromMilliseconds(500);

    // A slave that does not know a function's length may look for its end until the line is silent for half a second; a value from practice.
    private static readonly TimeSpan Recovery = TimeSpan.FromSeconds(1);

    private readonly Transaction _transaction = new();
    private readonly Random _random = new(plan.Seed);

    /// <summary>How the exchanges were made.</summary>
    public LineTestWay Way { get; private set; }

    /// <summary>What became of them.</summary>
    public LineTestCounts Counts { get; } = new();

    /// <summary>What failed by pattern, 0000 to FFFF; in the other way all under the register's number.</summary>
    public SortedDictionary<ushort, int> SpoiltPatterns { get; } = [];

    /// <summary>Why the device does not echo; empty where it does.</summary>
    public string WhyNoEcho { get; private set; } = "";

    /// <summary>Exception with which the register is refused in the other way; the refusal is an answer all the same. 0: it is read.</summary>
    public byte ReadException { get; private set; }

    /// <summary>Why nothing was measured, or not to the end; empty when it was.</summary>
    public string Refusal { get; private set; } = "";

    /// <summary>Runs it, to its end or to where <paramref name="cancellation"/> is asked for.</summary>
    public void Run(CancellationToken cancellation)
    {
        Refusal = PortGate.Held(places, plan.Device);
        if (Refusal.Length > 0)
        {
            return;
        }

        var opening = places.Open(plan.Device, plan.Line);
        if (opening.Link is not { } opened)
        {
            Refusal = PortGate.NotOpened(places, plan.Device, opening);
            return;
        }

        using var link = new HeardLink(opened);
        var driver = new RtuMasterDriver(new RtuMaster(plan.Line), link, places.Clock);
        ChooseWay(driver, link);
        if (Way == LineTestWay.Read)
        {
            // And may take the next request for somebody's answer: this one is not measured.
            places.Clock.WaitUntil(places.Clock.Now + Recovery);
            Ask(LineTestWay.Read, 0);
            _ = driver.Run(_transaction);
        }

        var hopeless = 0;
        while (Way != LineTestWay.None && Refusal.Length == 0 && Counts.Exchanges < plan.Count && !cancellation.IsCancellationRequested)
        {
            show?.Invoke(Counts.Exchanges, Counts.Spoilt);
            hopeless = Exchange(driver) is LineTestOutcome.Good or LineTestOutcome.Late or LineTestOutcome.Refused ? 0 : hopeless + 1;
            if (hopeless == HopelessInARow)
            {
                Refusal = $"{HopelessInARow} exchanges in a row failed: the test was ended";
            }
        }
    }

    /// <summary>
    /// The register is read first: an adapter that hears itself would pass for a device that echoes.
    /// </summary>
    private void ChooseWay(RtuMasterDriver driver, HeardLink link)
    {
        var canRead = false;
        for (var tries = 0; tries < Tries && !canRead; tries++)
        {
            Ask(LineTestWay.Read, 0);
            canRead = IsAnswer(driver.Run(_transaction));
            if (_transaction.Fault == FrameFault.OwnRequest)
            {
                Refusal = $"{SelfHearing.Finding}; an echo test would measure the adapter: {SelfHearing.Advice}";
                return;
            }
        }

        ReadException = canRead ? _transaction.ExceptionCode : (byte)0;
        for (var tries = 0; tries < Tries; tries++)
        {
            Ask(LineTestWay.Echo, WorstCases[tries]);
            switch (driver.Run(_transaction))
            {
                case TransactionResult.Reply:
                    Way = LineTestWay.Echo;
                    return;
                case TransactionResult.ExceptionReply:
                    WhyNoEcho = $"it refuses function 8 (exception {_transaction.ExceptionCode})";
                    Way = LineTestWay.Read;
                    return;
                case TransactionResult.LinkGone:
                    Refusal = Gone;
                    return;
                default:
                    WhyNoEcho = "it does not answer function 8";
                    break;
            }
        }

        Way = canRead ? LineTestWay.Read : LineTestWay.None;
        if (!canRead)
        {
            Refusal = !link.HasHeard
                ? $"nobody answers at address {plan.Address} ({LineOptions.Text(plan.Line)}): check its supply, its plug, its address and its line settings; `scan` looks for it"
                : $"something answers at address {plan.Address}, garbled ({LineOptions.Text(plan.Line)}): two drives with one address, or wrong line settings; `scan` looks for it";
        }
    }

    private string Gone => $"{plan.Device} went away: check the adapter's plug and its supply";

    private LineTestOutcome Exchange(RtuMasterDriver driver)
    {
        var number = Counts.Exchanges;
        // Every second one is random.
        var pattern = Way == LineTestWay.Read ? plan.Register
            : number % 2 == 0 ? WorstCases[number / 2 % WorstCases.Length] : (ushort)_random.Next(ushort.MaxValue + 1);
        Ask(Way, pattern);
        var result = driver.Run(_transaction);
        if (result == TransactionResult.LinkGone)
        {
            Refusal = Gone;
            return LineTestOutcome.Lost;
        }

        var time = _transaction.EndedAt - _transaction.BegunAt;
        var outcome = Judge(result, time);
        if (outcome is not (LineTestOutcome.Good or LineTestOutcome.Late or LineTestOutcome.Refused))
        {
            SpoiltPatterns[pattern] = SpoiltPatterns.GetValueOrDefault(pattern) + 1;
        }

        Counts.Take(outcome, time, _transaction.RequestFrame.Length + _transaction.ReplyFrame.Length);
        return outcome;
    }

    private LineTestOutcome Judge(TransactionResult result, TimeSpan time) => result switch
    {
        TransactionResult.Reply when Way == LineTestWay.Echo || ReadException == 0 => InTime(time),
        TransactionResult.ExceptionReply when Way == LineTestWay.Read && _transaction.ExceptionCode == ReadException => InTime(time),
        TransactionResult.Reply or TransactionResult.ExceptionReply => LineTestOutcome.Refused,
        TransactionResult.TimedOut => LineTestOutcome.Lost,
        _ => _transaction.Fault switch
        {
            FrameFault.BadCrc => LineTestOutcome.BadCrc,
            FrameFault.WrongEcho => LineTestOutcome.WrongEcho,
            _ => LineTestOutcome.Broken,
        },
    };

    private LineTestOutcome InTime(TimeSpan time) =>
        time > plan.Line.CharacterTime(_transaction.RequestFrame.Length) + plan.Timeout ? LineTestOutcome.Late : LineTestOutcome.Good;

    private void Ask(LineTestWay way, ushort pattern)
    {
        if (way == LineTestWay.Echo)
        {
            _transaction.Echo(plan.Address, pattern);
        }
        else
        {
            _transaction.Read(plan.Address, plan.Function, plan.Register, 1);
        }

        // A late answer is waited for and counted as late, rather than lost.
        _transaction.ReplyTimeout = GraceFactor * plan.Timeout > LeastGrace ? GraceFactor * plan.Timeout : LeastGrace;
    }

    private static bool IsAnswer(TransactionResult result) => result is TransactionResult.Reply or TransactionResult.ExceptionReply;
}
