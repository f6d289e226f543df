using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Daemon.Verbs.Diagnose;

namespace Supervisor.Daemon.Verbs.Lines;

/// <summary>
/// Asks every address of a line for one register, at one line setting after another, then those that answered for their identification.
/// It reads only (functions 3 and 43): any whole answer will do, also a refusal and a late one.
/// </summary>
/// <param name="plan">What to try.</param>
/// <param name="places">The computer.</param>
/// <param name="show">Told before each address: the settings, the address, how many answered.</param>
public sealed class Scan(ScanPlan plan, DiagnosisPlaces places, Action<LineSettings, int, int>? show = null)
{
    // Of an address that is garbled: two drives that answer at once seldom do so twice in the same way.
    private const int LooksAtGarble = 4;

    private readonly List<ScannedLine> _lines = [];

    /// <summary>Passes that were begun.</summary>
    public IReadOnlyList<ScannedLine> Lines => _lines;

    /// <summary>Why nothing was asked, or nothing more: the port is held, could not be opened, or went away. Empty when it was not so.</summary>
    public string Refusal { get; private set; } = "";

    /// <summary>Runs it, to its end or to where <paramref name="cancellation"/> is asked for.</summary>
    public void Run(CancellationToken cancellation)
    {
        Refusal = PortGate.Held(places, plan.Device);
        foreach (var line in plan.Lines)
        {
            if (Refusal.Length > 0 || cancellation.IsCancellationRequested || (!plan.All && HasAnswer))
            {
                return;
            }

            Pass(line, cancellation);
        }
    }

    private bool HasAnswer => _lines.Any(line => line.Found.Any(found => found.Answer == ScanAnswer.Answers));

    private void Pass(LineSettings line, CancellationToken cancellation)
    {
        var opening = places.Open(plan.Device, line);
        if (opening.Link is not { } opened)
        {
            if (opening.Failure == OpenFailure.SettingsRefused)
            {
                _lines.Add(new ScannedLine(line, 0, [], opening.Reason, false));
                return;
            }

            Refusal = PortGate.NotOpened(places, plan.Device, opening);
            return;
        }

        using var link = new HeardLink(opened);
        var driver = new RtuMasterDriver(new RtuMaster(line, TimeSpan.Zero), link, places.Clock);
        var found = new List<ScannedAddress>();
        var (tried, hearsItself) = (0, false);
        for (var address = plan.First; address <= plan.Last && !cancellation.IsCancellationRequested && Refusal.Length == 0; address++)
        {
            show?.Invoke(line, address, found.Count);
            if (Ask((byte)address, driver, link, ref hearsItself) is { } answer)
            {
                found.Add(answer);
            }

            tried++;
            if (hearsItself)
            {
                break;
            }
        }

        // Behind the pass: who does not know the function may be out of step for a while.
        for (var i = 0; i < found.Count && Refusal.Length == 0 && !cancellation.IsCancellationRequested; i++)
        {
            found[i] = found[i].Answer == ScanAnswer.Answers ? found[i] with { Identity = Identify(found[i].Address, driver, cancellation) } : found[i];
        }

        _lines.Add(new ScannedLine(line, tried, found, Refusal, hearsItself));
    }

    private ScannedAddress? Ask(byte address, RtuMasterDriver driver, HeardLink link, ref bool hearsItself)
    {
        var transaction = new Transaction();
        var garbled = 0;
        for (var tries = 1; tries <= (garbled > 0 ? Math.Max(plan.Tries, LooksAtGarble) : plan.Tries); tries++)
        {
            transaction.Read(address, FunctionCode.ReadHoldingRegisters, ScanPlan.Register, 1);
            transaction.ReplyTimeout = plan.Timeout;
            switch (driver.Run(transaction))
            {
                case TransactionResult.Reply or TransactionResult.ExceptionReply:
                    return new ScannedAddress(address, ScanAnswer.Answers, transaction.ExceptionCode, transaction.EndedAt - transaction.BegunAt, garbled, null);
                case TransactionResult.LinkGone:
                    Refusal = $"{plan.Device} went away: check the adapter's plug and its supply";
                    return null;
                case var _ when transaction.Fault == FrameFault.OwnRequest:
                    hearsItself = true;
                    return null;
                default:
                    garbled += link.HasHeard ? 1 : 0;
                    break;
            }
        }

        return garbled > 0 ? new ScannedAddress(address, ScanAnswer.Garbled, 0, TimeSpan.Zero, garbled, null) : null;
    }

    private IdentificationReading? Identify(byte address, RtuMasterDriver driver, CancellationToken cancellation)
    {
        var transaction = new Transaction();
        var reading = new IdentificationReading(address, IdentificationAccess.Regular);
        do
        {
            reading.Ask(transaction);
            transaction.ReplyTimeout = plan.Timeout;
            _ = driver.Run(transaction);
        }
        while (reading.Take(transaction) == IdentificationState.Asking && !cancellation.IsCancellationRequested);

        // What was told before a page was lost is told all the same.
        return reading.Objects.Any() ? reading : null;
    }
}
