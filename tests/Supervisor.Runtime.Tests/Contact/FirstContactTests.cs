using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Drives.Exchange;
using Supervisor.Runtime.Contact;
using Supervisor.Runtime.Tests.Support;

namespace Supervisor.Runtime.Tests.Contact;

/// <summary>What a drive is asked and told before it may be commanded.</summary>
public sealed class FirstContactTests
{
    private readonly HandDrive _drive = new();

    [Fact]
    public void Parameter_ThatIsAsWanted_IsNotWritten()
    {
        _drive[128] = 250;
        Assert.Equal(ContactResult.Complete, Run(Contact()));
        Assert.Empty(_drive.Writes);
    }

    [Fact]
    public void Parameter_ThatDiffers_IsWrittenAndReadAgain()
    {
        _drive[128] = 1000;
        var contact = Contact();
        Assert.Equal(ContactResult.Complete, Run(contact));
        Assert.Equal([(128, (ushort)250)], _drive.Writes);
        Assert.True(contact.IsComplete);
        Assert.Equal("", contact.Asking);
        Assert.Equal(4711u, contact.SerialNumber!.Raw);
    }

    [Fact]
    public void Parameter_ThatDoesNotTakeItsValue_IsRejected()
    {
        _drive.Stubborn = 128;
        var contact = Contact();
        Assert.Equal(ContactResult.Rejected, Run(contact));
        Assert.Equal("communicationTimeout", contact.Asking);
        contact.Restart();
        _drive.Stubborn = -1;
        Assert.Equal(ContactResult.Complete, Run(contact));
    }

    [Fact]
    public void Parameter_OfTwoRegistersBySingleWrites_TakesTwoFrames()
    {
        var drive = Parts.Words() with
        {
            Wire = Parts.Words().Wire with { WriteFunction = 6, MaximumWrite = 1 },
            Parameters = [Parts.Commanded("communicationTimeout", 128, RegisterType.U32)],
        };
        Assert.Equal(ContactResult.Complete, Run(Contact(drive)));
        Assert.Equal([(128, (ushort)0), (129, (ushort)250)], _drive.Writes);
    }

    [Fact]
    public void Parameter_ThatCanOnlyBeWritten_IsWrittenWithoutALook()
    {
        var drive = Parts.Words() with
        {
            Parameters = [Parts.Commanded("communicationTimeout", 128, RegisterType.U16) with { Access = RegisterAccess.Write }],
        };
        var contact = Contact(drive);
        for (var i = 0; i < 2; i++)
        {
            _drive.Writes.Clear();
            Assert.Equal(ContactResult.Complete, Run(contact, mayRead: false));
            Assert.Equal([(128, (ushort)250)], _drive.Writes);
            contact.Restart();
        }
    }

    [Fact]
    public void TimeoutTooShortForItsRegister_DoesNotBecomeNever()
    {
        // A register that counts seconds: 250 ms would round to 0, which drives take for "no time-out".
        var drive = Parts.Words() with { Parameters = [Parts.Commanded("communicationTimeout", 128, RegisterType.U16, 1000)] };
        Assert.Equal(ContactResult.Complete, Run(Contact(drive)));
        Assert.Equal(1, _drive[128]);
    }

    [Fact]
    public void HomingOfAnInvertedAxis_TurnsItsOffsetOnly()
    {
        var drive = Parts.Words() with
        {
            Parameters = [Parts.Commanded("homingMethod", 64, RegisterType.S16), Parts.Commanded("homingSpeedFast", 66, RegisterType.U32), Parts.Commanded("homeOffset", 68, RegisterType.S32)],
        };
        var axis = Parts.Axis(drive: drive) with { Inverted = true, CountsPerUnit = 100, Homing = new HomingDefinition(18, 40, 5, 12.5, TimeSpan.FromSeconds(10), 1) };
        Assert.Equal(ContactResult.Complete, Run(new FirstContact(new ExchangePlan(drive), axis)));
        Assert.Equal((18, 4000, -1250), (_drive[64], Wide(66), Wide(68)));
    }

    private int Wide(int register) => (_drive[register] << 16) | _drive[register + 1];

    private static FirstContact Contact(DriveDefinition? drive = null) =>
        new(new ExchangePlan(drive ?? Parts.Words()), Parts.Axis(drive: drive));

    private ContactResult Run(FirstContact contact, bool mayRead = true)
    {
        var reply = new ReplyTo(_drive);
        var result = ContactResult.UnderWay;
        for (var step = 0; step < 20 && result == ContactResult.UnderWay; step++)
        {
            contact.Ask(reply.Transaction, 1);
            Assert.True(mayRead || reply.Transaction.Function != 3);
            reply.Answer();
            result = contact.Take(reply.Transaction);
        }

        return result;
    }
}
