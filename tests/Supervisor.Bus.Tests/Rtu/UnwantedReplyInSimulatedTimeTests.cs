using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Rtu;

public sealed class UnwantedReplyInSimulatedTimeTests : UnwantedReplyTests, IDisposable
{
    private readonly SimulatedLine _line = new();
    private readonly RtuMasterDriver _driver;

    public UnwantedReplyInSimulatedTimeTests() => _driver = new RtuMasterDriver(Master, _line, _line);

    public void Dispose() => _line.Dispose();

    private protected override TimeSpan Unit => TimeSpan.FromMilliseconds(20);

    private protected override void Script(params Part[][] answers)
    {
        var next = 0;
        _line.OnWrite = _ =>
        {
            foreach (var part in answers[next++])
            {
                _line.Deliver(part.After, part.Bytes);
            }
        };
    }

    private protected override void Inject(byte[] bytes) => _line.Deliver(TimeSpan.Zero, bytes);

    private protected override void WaitUntil(TimeSpan time) => _line.WaitUntil(time);

    private protected override TransactionResult Run(Transaction transaction) => _driver.Run(transaction);
}
