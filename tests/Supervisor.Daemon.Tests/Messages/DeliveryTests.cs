using System.Net;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using System.Text;
using Supervisor.Configuration.Machines.Messages;
using Supervisor.Daemon.Messages;
using Supervisor.History.Outbox;

namespace Supervisor.Daemon.Tests.Messages;

/// <summary>Mail and requests against servers on this computer.</summary>
public sealed class DeliveryTests : IDisposable
{
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("messages-");

    public void Dispose() => _folder.Delete(recursive: true);

    [Fact]
    public async Task Email_Message_ArrivesWithItsHead()
    {
        using var sink = new MailSink();

        var result = await new EmailDelivery(Mail(sink), "Tray seeder").SendAsync(Message("abc"), TestContext.Current.CancellationToken);

        Assert.Equal((DeliveryOutcome.Taken, "taken"), (result.Outcome, result.Answer));
        var mail = Assert.Single(sink.Mails);

        // RFC 5322, 3.6; RFC 3834, 5. A dot at the beginning of a line survives (RFC 5321, 4.5.2).
        Assert.Contains("Message-Id: <abc@plant.example>", mail, StringComparison.OrdinalIgnoreCase);
        Assert.Contains("Date: Tue, 06 May 2031 ", mail, StringComparison.Ordinal);
        Assert.Contains("Auto-Submitted: auto-generated", mail, StringComparison.Ordinal);
        Assert.Contains("From: Tray seeder <machine@plant.example>", mail, StringComparison.Ordinal);
        Assert.Contains("To: night@plant.example, day@plant.example", mail, StringComparison.Ordinal);
        Assert.Contains("Subject: a title", mail, StringComparison.Ordinal);
        Assert.Contains("\n.a line with a dot\n", mail, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Email_SentAgain_IsTheSameMail()
    {
        using var sink = new MailSink { Breaks = true };
        var delivery = new EmailDelivery(Mail(sink), "Tray seeder");

        Assert.Equal(DeliveryOutcome.NotNow, (await delivery.SendAsync(Message("abc"), TestContext.Current.CancellationToken)).Outcome);
        sink.Breaks = false;
        Assert.Equal(DeliveryOutcome.Taken, (await delivery.SendAsync(Message("abc"), TestContext.Current.CancellationToken)).Outcome);

        Assert.Equal(2, sink.Mails.Count);
        Assert.Single(sink.Mails.Distinct());
    }

    [Fact]
    public void Email_ClockNotSet_LeavesTheDateToTheServer()
    {
        using var sink = new MailSink();
        var message = Message("abc") with { Content = new OutboxContent("a title", "text", null) };

        Assert.False(new EmailDelivery(Mail(sink), "m").Write(message).Headers.Contains("Date"));
    }

    [Fact]
    public void Email_End_RefersToTheIncident()
    {
        using var sink = new MailSink();

        Assert.Equal("abc@plant.example", new EmailDelivery(Mail(sink), "m").Write(Message(MessageIdentity.OfEnd("abc"))).InReplyTo);
    }

    [Fact]
    public async Task Email_OneReceiverUnknown_ArrivesForTheOther()
    {
        using var sink = new MailSink { Unknown = ["day@plant.example"] };
        var delivery = new EmailDelivery(Mail(sink), "m");

        var result = await delivery.SendAsync(Message("abc"), TestContext.Current.CancellationToken);
        Assert.Equal((DeliveryOutcome.Taken, "taken; not taken for day@plant.example (550)"), (result.Outcome, result.Answer));

        sink.Unknown = ["plant.example"];
        Assert.Equal(DeliveryOutcome.Refused, (await delivery.SendAsync(Message("abc"), TestContext.Current.CancellationToken)).Outcome);
    }

    [Fact]
    public async Task Email_StartTls_TrustsOnlyTheAuthorityGiven()
    {
        using var certificate = SelfMade();
        using var sink = new MailSink(certificate);
        var (authority, password) = (At("ca.pem", certificate.ExportCertificatePem()), At("password", "hush\n", UnixFileMode.UserRead | UnixFileMode.UserWrite));
        var mail = Mail(sink) with { Security = MailSecurity.StartTls, User = "machine", Password = new SecretPlace("password", password) };

        var stranger = await new EmailDelivery(mail, "m").SendAsync(Message("abc"), TestContext.Current.CancellationToken);
        Assert.Equal(DeliveryOutcome.NotNow, stranger.Outcome);
        Assert.Empty(sink.Mails);
        Assert.Empty(sink.Logins);

        var known = await new EmailDelivery(mail with { CertificateAuthority = authority }, "m").SendAsync(Message("abc"), TestContext.Current.CancellationToken);
        Assert.True(known.Outcome == DeliveryOutcome.Taken, known.Answer);
        Assert.Equal("machine hush", Assert.Single(sink.Logins));
        Assert.Single(sink.Mails);
    }

    [Fact]
    public async Task Email_ServerWithoutStartTls_GetsNothing()
    {
        using var sink = new MailSink();

        var result = await new EmailDelivery(Mail(sink) with { Security = MailSecurity.StartTls }, "m").SendAsync(Message("abc"), TestContext.Current.CancellationToken);

        Assert.Equal(DeliveryOutcome.NotNow, result.Outcome);
        Assert.Empty(sink.Mails);
    }

    [Fact]
    public async Task Webhook_Message_ArrivesSigned()
    {
        using var sink = new RequestSink();
        var key = At("key", "signing key", UnixFileMode.UserRead);
        var webhook = Hook(sink) with
        {
            Headers = new Dictionary<string, string> { ["X-Line"] = "3" },
            SecretHeaders = new Dictionary<string, SecretPlace> { ["Authorization"] = new("key", key) },
            SignatureKey = new SecretPlace("key", key),
        };

        var result = await new WebhookDelivery(webhook).SendAsync(Message("abc"), TestContext.Current.CancellationToken);

        Assert.Equal((DeliveryOutcome.Taken, "HTTP 204 No Content"), (result.Outcome, result.Answer));
        var (headers, body) = Assert.Single(sink.Requests);
        Assert.Equal("a text\n.a line with a dot\n", body);
        Assert.Equal(("POST /incidents HTTP/1.1", "\"abc\"", "3", "signing key"), (headers[":"], headers["Idempotency-Key"], headers["X-Line"], headers["Authorization"]));
        Assert.Equal($"sha256={Convert.ToHexStringLower(HMACSHA256.HashData("signing key"u8, Encoding.UTF8.GetBytes(body)))}", headers["X-Signature-256"]);
    }

    /// <summary>RFC 4231, 4.3: test case 2.</summary>
    [Fact]
    public void Sign_TestCaseOfTheStandard_IsAsPublished() => Assert.Equal(
        "sha256=5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843", WebhookDelivery.Sign("Jefe", Encoding.ASCII.GetBytes("what do ya want for nothing?")));

    [Theory]
    [InlineData("HTTP/1.1 200 OK", DeliveryOutcome.Taken, null)]
    [InlineData("HTTP/1.1 302 Found\r\nLocation: http://elsewhere.example/", DeliveryOutcome.Refused, null)]
    [InlineData("HTTP/1.1 404 Not Found", DeliveryOutcome.Refused, null)]
    [InlineData("HTTP/1.1 408 Request Timeout", DeliveryOutcome.NotNow, null)]
    [InlineData("HTTP/1.1 429 Too Many Requests\r\nRetry-After: 90", DeliveryOutcome.NotNow, 90)]
    [InlineData("HTTP/1.1 503 Service Unavailable\r\nDate: Tue, 06 May 1997 07:00:00 GMT\r\nRetry-After: Tue, 06 May 1997 07:02:00 GMT", DeliveryOutcome.NotNow, 120)]
    [InlineData("HTTP/1.1 500 Internal Server Error", DeliveryOutcome.NotNow, null)]
    public async Task Webhook_Answer_IsJudged(string answer, DeliveryOutcome outcome, int? seconds)
    {
        using var sink = new RequestSink { Answer = answer };

        var result = await new WebhookDelivery(Hook(sink)).SendAsync(Message("abc"), TestContext.Current.CancellationToken);

        Assert.Equal((outcome, seconds), (result.Outcome, (int?)result.RetryAfter?.TotalSeconds));
    }

    [Fact]
    public async Task Webhook_NobodyListens_IsTriedAgain()
    {
        using var sink = new RequestSink();
        sink.TakeDown();

        Assert.Equal(DeliveryOutcome.NotNow, (await new WebhookDelivery(Hook(sink)).SendAsync(Message("abc"), TestContext.Current.CancellationToken)).Outcome);
    }

    [Fact]
    public async Task Secret_OpenToOthersOrMissing_HoldsTheMessageAndIsNotShown()
    {
        using var sink = new RequestSink();
        var open = At("open", "hush", UnixFileMode.UserRead | UnixFileMode.GroupRead);

        var result = await new WebhookDelivery(Hook(sink) with { SignatureKey = new SecretPlace("open", open) }).SendAsync(Message("abc"), TestContext.Current.CancellationToken);
        Assert.Equal((DeliveryOutcome.NotNow, $"{open} is open to other users: chmod 600 it."), (result.Outcome, result.Answer));

        var missing = await new WebhookDelivery(Hook(sink) with { SignatureKey = new SecretPlace("none", open + "-none") }).SendAsync(Message("abc"), TestContext.Current.CancellationToken);
        Assert.Contains("there is no secret none", missing.Answer, StringComparison.Ordinal);
        Assert.Empty(sink.Requests);
    }

    private static EmailDefinition Mail(MailSink sink) => new("127.0.0.1", sink.Port, MailSecurity.None, "machine@plant.example", ["night@plant.example", "day@plant.example"]);

    private static WebhookDefinition Hook(RequestSink sink) => new() { Url = new Uri($"http://127.0.0.1:{sink.Port}/incidents") };

    private static OutboxMessage Message(string identity) => new(1, "night", OutboxKind.Incident, identity)
    {
        Content = new OutboxContent("a title", "a text\n.a line with a dot\n", new DateTimeOffset(2031, 5, 6, 12, 0, 0, TimeSpan.Zero)),
    };

    private static X509Certificate2 SelfMade()
    {
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        var request = new CertificateRequest("CN=sink", key, HashAlgorithmName.SHA256);
        var names = new SubjectAlternativeNameBuilder();
        names.AddIpAddress(IPAddress.Loopback);
        request.CertificateExtensions.Add(names.Build());
        request.CertificateExtensions.Add(new X509EnhancedKeyUsageExtension([new Oid("1.3.6.1.5.5.7.3.1")], critical: false));
        using var made = request.CreateSelfSigned(DateTimeOffset.UtcNow.AddDays(-1), DateTimeOffset.UtcNow.AddDays(1));
        return X509CertificateLoader.LoadPkcs12(made.Export(X509ContentType.Pfx), null);
    }

    private string At(string name, string text, UnixFileMode? mode = null)
    {
        var path = Path.Combine(_folder.FullName, name);
        File.WriteAllText(path, text);
        if (mode is { } asked && !OperatingSystem.IsWindows())
        {
            File.SetUnixFileMode(path, asked);
        }

        return path;
    }
}
